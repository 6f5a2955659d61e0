/** The pairing code for people: how it is written, how long it is good, what a device calls itself. */

/** Groups of four letters, which are read and typed more surely than eight in a row. */
export function grouped(code: string): string {
  return code.replace(/(.{4})(?=.)/g, "$1 ");
}

/** "4 min 20 s"; empty when the time is over. */
export function left(expires: string, now: number): string {
  const seconds = Math.ceil((new Date(expires).getTime() - now) / 1000);
  if (!(seconds > 0)) return "";
  const minutes = Math.floor(seconds / 60);
  return minutes > 0 ? `${minutes} min ${seconds % 60} s` : `${seconds} s`;
}

/** A first name for this device, which its owner may change. */
export function usualName(agent: string): string {
  if (/iPad/.test(agent)) return "iPad";
  if (/iPhone/.test(agent)) return "iPhone";
  if (/Android/.test(agent)) return /Mobile/.test(agent) ? "Android phone" : "Android tablet";
  if (/Windows|Macintosh|Linux/.test(agent)) return "other computer";
  return "phone";
}
