/** Typed calls to the server. What is wrong comes back as `Refusal`, which holds all the advice at once. */
import type { AdviceOut } from "./shapes";
import type { paths } from "./types";

type Method = "get" | "post" | "delete";

/** The addresses that know this method. */
export type Address<M extends Method> = {
  [P in keyof paths]: paths[P][M] extends { responses: unknown } ? P : never;
}[keyof paths];

type Operation<M extends Method, P extends keyof paths> = paths[P][M];
type Parameters<O, K extends "path" | "query"> = O extends { parameters: { [key in K]: infer V } }
  ? { [key in K]: V }
  : O extends { parameters: { [key in K]?: infer V } }
    ? [Exclude<V, undefined>] extends [never]
      ? { [key in K]?: never }
      : { [key in K]?: V }
    : { [key in K]?: never };
type Body<O> = O extends { requestBody: { content: { "application/json": infer B } } }
  ? { body: B }
  : { body?: Blob | ArrayBuffer };

export type Asked<M extends Method, P extends keyof paths> = Parameters<Operation<M, P>, "path"> &
  Parameters<Operation<M, P>, "query"> &
  Body<Operation<M, P>> & { signal?: AbortSignal };

export type Reply<M extends Method, P extends keyof paths> =
  Operation<M, P> extends { responses: { 200: { content: { "application/json": infer R } } } } ? R : unknown;

export const NO_CONTACT: AdviceOut = {
  what: "No contact with the laptop.",
  todo: "See that `dabchick serve` still runs there and that both are on the same network; this page tries again by itself.",
  where: "",
  key: "",
  given: "",
  allowed: "",
  severity: "error",
};

/** Sent to the window when the server lets this device in no longer. */
export const UNPAIRED = "dabchick:unpaired";

/** An answer with an error status, or none at all (status 0). */
export class Refusal extends Error {
  constructor(
    readonly status: number,
    readonly advice: readonly AdviceOut[],
  ) {
    super(advice.map((one) => one.what).join(" "));
    this.name = "Refusal";
  }

  /** The boat was changed meanwhile, elsewhere. */
  get stale(): boolean {
    return this.status === 409;
  }

  get unpaired(): boolean {
    return this.status === 401;
  }

  get noContact(): boolean {
    return this.status === 0;
  }
}

/** The address with its names and query filled in, for a link or a picture. */
export function address(path: keyof paths, asked: { path?: object; query?: object } = {}): string {
  const filled = path.replace(/\{(\w+)\}/g, (_whole, name: string) => {
    const value: unknown = (asked.path as Record<string, unknown> | undefined)?.[name];
    if (value === undefined) throw new Error(`${path} needs ${name}`);
    return encodeURIComponent(String(value));
  });
  const query = new URLSearchParams();
  for (const [name, value] of Object.entries(asked.query ?? {})) {
    if (value !== undefined && value !== null) query.set(name, String(value));
  }
  return query.size > 0 ? `${filled}?${query}` : filled;
}

export async function get<P extends Address<"get">>(
  path: P,
  asked: Asked<"get", P>,
): Promise<Reply<"get", P>> {
  const response = await send("get", path, asked);
  return (await reached(() => response.json())) as Reply<"get", P>;
}

export async function post<P extends Address<"post">>(
  path: P,
  asked: Asked<"post", P>,
): Promise<Reply<"post", P>> {
  const response = await send("post", path, asked);
  return (await reached(() => response.json())) as Reply<"post", P>;
}

export async function remove<P extends Address<"delete">>(
  path: P,
  asked: Asked<"delete", P>,
): Promise<Reply<"delete", P>> {
  const response = await send("delete", path, asked);
  return (await reached(() => response.json())) as Reply<"delete", P>;
}

/** Raw bytes, such as the meshes. */
export async function bytes<P extends Address<"get">>(path: P, asked: Asked<"get", P>): Promise<ArrayBuffer> {
  const response = await send("get", path, asked);
  return reached(() => response.arrayBuffer());
}

interface Sent {
  path?: object;
  query?: object;
  body?: unknown;
  signal?: AbortSignal;
}

async function send(method: Method, path: keyof paths, asked: Sent): Promise<Response> {
  const raw = asked.body instanceof Blob || asked.body instanceof ArrayBuffer;
  const init: RequestInit = { method: method.toUpperCase(), headers: { accept: "application/json" } };
  if (asked.signal) init.signal = asked.signal;
  if (asked.body !== undefined) {
    init.body = raw ? (asked.body as BodyInit) : JSON.stringify(asked.body);
    init.headers = {
      accept: "application/json",
      "content-type": raw ? "application/octet-stream" : "application/json",
    };
  }
  const where = address(path, asked);
  const response = await reached(() => fetch(where, init));
  if (!response.ok) {
    const refusal = new Refusal(response.status, await adviceOf(response));
    if (refusal.unpaired) window.dispatchEvent(new Event(UNPAIRED));
    throw refusal;
  }
  return response;
}

/** What comes over the line; a line that breaks, before the answer or in the middle of it, is a refusal of its own. */
async function reached<T>(coming: () => Promise<T>): Promise<T> {
  try {
    return await coming();
  } catch (error) {
    if (error instanceof TypeError) throw new Refusal(0, [NO_CONTACT]);
    throw error;
  }
}

async function adviceOf(response: Response): Promise<AdviceOut[]> {
  const text = await reached(() => response.text());
  try {
    const body: unknown = JSON.parse(text);
    if (isRefusal(body)) return body.advice;
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
  }
  return [
    {
      ...NO_CONTACT,
      what: `The server answered ${response.status} ${response.statusText}`.trim() + ".",
      todo: "Look at the window where `dabchick serve` runs; it says what went wrong.",
      given: text.slice(0, 200),
    },
  ];
}

function isRefusal(body: unknown): body is { advice: AdviceOut[] } {
  return (
    typeof body === "object" &&
    body !== null &&
    "advice" in body &&
    Array.isArray(body.advice) &&
    body.advice.length > 0
  );
}
