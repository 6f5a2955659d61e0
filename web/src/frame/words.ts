/** Small words that the frame puts together: times, and how many. No figure of the boat is made here. */

/** "14:03" today, "3 May, 14:03" this year, "3 May 2025" before. */
export function clock(iso: string, now = new Date()): string {
  const when = new Date(iso);
  if (Number.isNaN(when.getTime())) return "";
  const time = when.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  if (when.toDateString() === now.toDateString()) return time;
  const day = when.toLocaleDateString("en-GB", { day: "numeric", month: "short" });
  if (when.getFullYear() === now.getFullYear()) return `${day}, ${time}`;
  return `${day} ${when.getFullYear()}`;
}

/** "1 thing", "2 things". */
export function things(count: number, one = "thing", many = `${one}s`): string {
  return `${count} ${count === 1 ? one : many}`;
}
