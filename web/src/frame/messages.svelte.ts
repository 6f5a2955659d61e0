/** What the frame tells the builder: short messages that go by themselves, and advice that stays until read. */
import { Refusal } from "./api";
import type { AdviceOut } from "./shapes";

export interface Message {
  id: number;
  text: string;
  advice: readonly AdviceOut[];
}

const SHOWN_MS = 6000;

class Messages {
  list = $state<Message[]>([]);
  #next = 1;

  /** A short word on something done; it goes by itself. */
  say(text: string): void {
    const id = this.#add(text, []);
    setTimeout(() => this.close(id), SHOWN_MS);
  }

  /** Advice on something refused; it stays until closed. */
  advise(text: string, advice: readonly AdviceOut[]): void {
    this.#add(text, advice);
  }

  /** Tells a refusal; every other error is a fault of the page and goes on. */
  refused(text: string, error: unknown): void {
    if (!(error instanceof Refusal)) throw error;
    this.advise(text, error.advice);
  }

  close(id: number): void {
    this.list = this.list.filter((message) => message.id !== id);
  }

  #add(text: string, advice: readonly AdviceOut[]): number {
    const id = this.#next++;
    // The same refusal again replaces the first, so that a held key does not pile them up.
    this.list = [...this.list.filter((message) => message.text !== text), { id, text, advice }].slice(-4);
    return id;
  }
}

export const messages = new Messages();
