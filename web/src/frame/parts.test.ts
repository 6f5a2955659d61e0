import { render, screen } from "@testing-library/svelte";
import userEvent from "@testing-library/user-event";
import { createRawSnippet } from "svelte";
import { describe, expect, it, vi } from "vitest";
import AdviceList from "./AdviceList.svelte";
import { NO_CONTACT } from "./api";
import { BoatStore } from "./boat.svelte";
import Button from "./Button.svelte";
import Choose from "./Choose.svelte";
import Field from "./Field.svelte";
import Figure from "./Figure.svelte";
import SavedState from "./SavedState.svelte";
import type { BoatState } from "./shapes";
import UnmadeEdit from "./UnmadeEdit.svelte";

const FAULT = {
  ...NO_CONTACT,
  what: "No mass.",
  todo: "Weigh it.",
  key: "part[3].mass",
  given: "x",
  allowed: "a mass",
};

function stored(more: Partial<BoatState> = {}): BoatStore {
  const store = new BoatStore("wren");
  const saved = new Date();
  saved.setHours(14, 3);
  store.take({
    revision: 1,
    saved: saved.toISOString(),
    errors: [],
    warnings: [],
    assumptions: [],
    ...more,
  } as BoatState);
  return store;
}

describe("the saved state", () => {
  it("says when she was saved, how much is to mend, or that there is no contact", () => {
    const { unmount } = render(SavedState, { store: stored() });
    expect(screen.getByRole("button").textContent).toContain("Saved 14:03");
    unmount();
    const faulty = render(SavedState, { store: stored({ errors: [FAULT, FAULT] }) });
    expect(screen.getByRole("button").textContent).toContain("Faulty: 2 things to mend");
    faulty.unmount();
    const store = stored();
    store.contact = false;
    render(SavedState, { store });
    expect(screen.getByRole("button").textContent).toContain("No contact with the laptop");
  });
});

describe("advice", () => {
  it("tells all of it, with the severity as a word, and leads to the key", async () => {
    const chosen = vi.fn();
    render(AdviceList, { advice: [FAULT, { ...FAULT, severity: "warning" }], onkey: chosen });
    const [fault, caution] = screen.getAllByRole("listitem");
    for (const words of ["Fault", "No mass.", "Weigh it.", "x", "a mass"])
      expect(fault?.textContent).toContain(words);
    expect(caution?.textContent).toContain("Caution");
    await userEvent.click(screen.getAllByRole("button", { name: "part[3].mass" })[0] as HTMLElement);
    expect(chosen).toHaveBeenCalledExactlyOnceWith("part[3].mass");
  });
});

describe("a field", () => {
  it("gives what was typed when it is left", async () => {
    const changed = vi.fn();
    render(Field, { label: "Mass", value: "310 g", onchange: changed });
    const input = screen.getByLabelText<HTMLInputElement>("Mass");
    await userEvent.clear(input);
    await userEvent.type(input, "7 oz");
    await userEvent.tab();
    expect(changed.mock.calls).toEqual([["7 oz"]]);
  });

  it("is put back on Escape", async () => {
    const changed = vi.fn();
    render(Field, { label: "Mass", value: "310 g", onchange: changed });
    const input = screen.getByLabelText<HTMLInputElement>("Mass");
    await userEvent.clear(input);
    await userEvent.type(input, "7 oz{Escape}");
    await userEvent.tab();
    expect([input.value, changed.mock.calls.length]).toEqual(["310 g", 0]);
  });

  it("keeps a half-typed word when the value changes from elsewhere, and shows the new value otherwise", async () => {
    const changed = vi.fn();
    const { rerender } = render(Field, { label: "Mass", value: "310 g", onchange: changed });
    const field = screen.getByLabelText("Mass");
    await userEvent.clear(field);
    await userEvent.type(field, "7 o");
    await rerender({ value: "305 g" });
    expect(field).toHaveProperty("value", "7 o");
    await userEvent.type(field, "z");
    await userEvent.tab();
    expect(changed).toHaveBeenCalledExactlyOnceWith("7 oz");
    await rerender({ value: "198.4 g" });
    expect(field).toHaveProperty("value", "198.4 g");
  });

  it("is marked as wrong with its advice as description", () => {
    render(Field, { label: "Mass", value: "x", advice: [FAULT] });
    const input = screen.getByLabelText("Mass");
    expect(input.getAttribute("aria-invalid")).toBe("true");
    expect(document.getElementById(input.getAttribute("aria-describedby") ?? "")?.textContent).toContain(
      "No mass.",
    );
  });
});

it("one of several is chosen by its name", async () => {
  const changed = vi.fn();
  const choices = [
    { value: "a", label: "First" },
    { value: "b", label: "Second" },
  ];
  render(Choose, { label: "Units", value: "a", choices, onchange: changed });
  expect(screen.getByRole("group", { name: "Units" })).toBeTruthy();
  await userEvent.click(screen.getByRole("radio", { name: "Second" }));
  expect(changed.mock.calls).toEqual([["b"]]);
});

it("a figure has its unit, spread, limit, and its verdict as a word", () => {
  const figure = { text: "82.0 mm", spread: "0.6 mm", value: 0.082 };
  const { container } = render(Figure, { label: "Draught", figure, limit: "80 mm wished", verdict: "bad" });
  for (const words of ["Draught", "82.0 mm", "± 0.6 mm", "80 mm wished", "Wrong"]) {
    expect(container.textContent).toContain(words);
  }
});

it("a button at work cannot be pressed a second time", async () => {
  const pressed = vi.fn();
  const children = createRawSnippet(() => ({ render: () => "<span>Solve</span>" }));
  render(Button, { busy: true, onclick: pressed, children });
  await userEvent.click(screen.getByRole("button", { name: "Solve" }));
  expect(pressed).not.toHaveBeenCalled();
});

describe("an edit that was not made", () => {
  it("shows why, what was typed, and two ways on", async () => {
    const store = stored();
    store.unmade = {
      what: "Weigh battery",
      by: "phone",
      reason: "changed",
      ops: [{ op: "put", path: ["part", 1, "mass"], value: "320 g", was: null, row_name: "battery" }],
    };
    const { container } = render(UnmadeEdit, { store });
    expect(container.textContent).toContain("Changed meanwhile on phone; shown anew.");
    expect(container.textContent).toContain('battery: part.1.mass = "320 g"');
    expect(screen.getByRole("button", { name: "Try again" })).toBeTruthy();
    await userEvent.click(screen.getByRole("button", { name: "Leave it" }));
    expect(store.unmade).toBeNull();
  });
});
