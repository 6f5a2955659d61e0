/** A WebSocket whose other end a test holds in its hand. */
import type { Ask, Told } from "./shapes";

export class FakeSocket {
  static readonly OPEN = 1;
  static all: FakeSocket[] = [];
  static get last(): FakeSocket {
    const last = FakeSocket.all.at(-1);
    if (!last) throw new Error("no socket was opened");
    return last;
  }

  readyState = 0;
  sent: Ask[] = [];
  onopen: (() => void) | null = null;
  onclose: (() => void) | null = null;
  onmessage: ((event: { data: string }) => void) | null = null;

  constructor(readonly url: string) {
    FakeSocket.all.push(this);
  }

  send(text: string): void {
    this.sent.push(JSON.parse(text) as Ask);
  }

  close(): void {
    this.readyState = 3;
    this.onclose?.();
  }

  accept(): void {
    this.readyState = FakeSocket.OPEN;
    this.onopen?.();
  }

  tell(told: Partial<Told> & { kind: Told["kind"] }): void {
    this.onmessage?.({ data: JSON.stringify(told) });
  }
}
