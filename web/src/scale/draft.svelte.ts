/** The full-size boat as it is typed; it outlives the page. */

export const KEYS = ["length", "beam", "draught", "height", "displacement", "dived", "speed"] as const;
export type Key = (typeof KEYS)[number];

/** An invented coastal boat, to begin with. */
const START: Readonly<Record<Key, string>> = {
  length: "62 m",
  beam: "6.2 m",
  draught: "4.3 m",
  height: "",
  displacement: "620 t",
  dived: "740 t",
  speed: "16 kn",
};

class Subject {
  texts = $state<Record<Key, string>>({ ...START });
  scales = $state("24, 32, 48, 60, 72, 96");
}

export const subject = new Subject();
