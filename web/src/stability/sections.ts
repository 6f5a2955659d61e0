/** The questions of the stability page, each fetched when it is opened. */
import type { Section } from "../frame/sections";

export const SECTIONS: readonly Section[] = [];
