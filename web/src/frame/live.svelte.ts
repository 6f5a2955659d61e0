/** The live channel of one boat: what-ifs with one ask in flight and only the newest waiting, and notices. */
import type { Answer, Ask, Change, Changed, JobTold, Refused, Told } from "./shapes";

const FIRST_WAIT_MS = 500;
const LONGEST_WAIT_MS = 10_000;

interface Listeners {
  changed: (notice: Changed) => void;
  hello: (revision: number) => void;
  /** The line broke and could not be mended at the first try. */
  lost: () => void;
}

export class LiveChannel {
  /** The newest answer. */
  answer = $state.raw<Answer | null>(null);
  /** Why the newest ask could not be answered; null once one was. */
  refused = $state.raw<Refused | null>(null);
  connected = $state(false);
  jobs = $state.raw<Readonly<Record<string, JobTold>>>({});

  #socket: WebSocket | null = null;
  #seq = 0;
  #inFlight: Ask | null = null;
  #waiting: Ask | null = null;
  #last: Ask | null = null;
  #wait = FIRST_WAIT_MS;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #closed = false;

  constructor(
    private readonly boat: string,
    private readonly listeners: Listeners,
  ) {}

  open(): void {
    this.#closed = false;
    window.addEventListener("online", this.#now);
    document.addEventListener("visibilitychange", this.#now);
    this.#connect();
  }

  close(): void {
    this.#closed = true;
    clearTimeout(this.#timer);
    window.removeEventListener("online", this.#now);
    document.removeEventListener("visibilitychange", this.#now);
    this.#socket?.close();
    this.#socket = null;
    this.connected = false;
  }

  /**
   * How would she lie so? Fast asks are folded: the newest is always answered, older ones may not be.
   * Returns the number under which the answer comes.
   */
  ask(fills: Record<string, number>, changes: Change[] = []): number {
    return this.#put(fills, changes);
  }

  /** The last ask once more, after the boat changed. */
  again(): void {
    if (this.#last) this.#put(this.#last.fills, this.#last.changes ?? []);
  }

  #put(fills: Record<string, number>, changes: Change[]): number {
    this.#seq += 1;
    this.#last = { kind: "ask", seq: this.#seq, fills, changes };
    this.#waiting = this.#last;
    this.#send();
    return this.#seq;
  }

  #send(): void {
    if (!this.#waiting || this.#inFlight || this.#socket?.readyState !== WebSocket.OPEN) return;
    this.#inFlight = this.#waiting;
    this.#waiting = null;
    this.#socket.send(JSON.stringify(this.#inFlight));
  }

  #connect(): void {
    clearTimeout(this.#timer);
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    const socket = new WebSocket(
      `${scheme}://${location.host}/api/boats/${encodeURIComponent(this.boat)}/live`,
    );
    this.#socket = socket;
    let stood = false;
    socket.onopen = () => {
      this.#wait = FIRST_WAIT_MS;
      stood = true;
      this.connected = true;
      // What was in flight when the line broke was never answered.
      this.#inFlight = null;
      this.#waiting = this.#last;
      this.#send();
    };
    socket.onmessage = (event: MessageEvent<string>) => this.#hear(JSON.parse(event.data) as Told);
    socket.onclose = () => {
      if (this.#socket !== socket) return;
      this.#socket = null;
      this.connected = false;
      if (this.#closed) return;
      if (!stood) this.listeners.lost();
      this.#timer = setTimeout(() => this.#connect(), this.#wait);
      this.#wait = Math.min(2 * this.#wait, LONGEST_WAIT_MS);
    };
  }

  /** A phone that wakes up, or finds its network again, does not wait for the next try. */
  #now = (): void => {
    if (this.#closed || this.#socket || document.visibilityState === "hidden") return;
    this.#connect();
  };

  #hear(told: Told): void {
    switch (told.kind) {
      case "answer":
        this.answer = told;
        this.refused = null;
        this.#answered(told.seq);
        break;
      case "refused":
        this.refused = told;
        this.#answered(told.seq);
        break;
      case "changed":
        this.listeners.changed(told);
        break;
      case "job":
        this.jobs = { ...this.jobs, [told.job]: told };
        break;
      case "hello":
        this.listeners.hello(told.revision);
        break;
    }
  }

  #answered(seq: number): void {
    if (this.#inFlight && seq >= this.#inFlight.seq) this.#inFlight = null;
    this.#send();
  }
}
