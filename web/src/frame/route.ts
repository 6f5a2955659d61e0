/** The address in words: `#/` shelf, `#/new`, `#/scale`, `#/pair`, `#/{boat}/{page}`. */
export const TABS = ["boat", "weights", "tank", "trim", "hull", "fit", "stability", "versions"] as const;
/** Pages with tabs, and those that another page leads to. */
export const BOAT_PAGES = [...TABS, "trace", "measures", "prints"] as const;

export type Tab = (typeof TABS)[number];
export type BoatPage = (typeof BOAT_PAGES)[number];

export type Route =
  | { page: "shelf" }
  | { page: "new" }
  | { page: "scale" }
  | { page: "pair"; code: string }
  | { page: BoatPage; boat: string }
  | { page: "lost"; hash: string };

export function parse(hash: string): Route {
  const [path = "", query = ""] = hash.replace(/^#\/?/, "").split("?", 2);
  const parts = path.split("/").filter((part) => part !== "");
  const [first, second] = parts;
  if (first === undefined) return { page: "shelf" };
  if (second === undefined) {
    if (first === "new") return { page: "new" };
    if (first === "scale") return { page: "scale" };
    if (first === "pair") return { page: "pair", code: new URLSearchParams(query).get("code") ?? "" };
  }
  const boat = decoded(first);
  const page = second === undefined ? "boat" : BOAT_PAGES.find((known) => known === second);
  if (boat === null || page === undefined || parts.length > 2) return { page: "lost", hash };
  return { page, boat };
}

export function to(boat: string, page: BoatPage = "boat"): string {
  return `#/${encodeURIComponent(boat)}/${page}`;
}

function decoded(part: string): string | null {
  try {
    return decodeURIComponent(part);
  } catch (error) {
    if (error instanceof URIError) return null;
    throw error;
  }
}
