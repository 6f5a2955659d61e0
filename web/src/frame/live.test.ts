import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { FakeSocket } from "./fake-socket";
import { LiveChannel } from "./live.svelte";

const changed = vi.fn();
const hello = vi.fn();
const lost = vi.fn();
let channel: LiveChannel;

beforeEach(() => {
  vi.useFakeTimers();
  vi.stubGlobal("WebSocket", FakeSocket);
  FakeSocket.all = [];
  changed.mockReset();
  hello.mockReset();
  lost.mockReset();
  channel = new LiveChannel("wren 2", { changed, hello, lost });
  channel.open();
});
afterEach(() => {
  channel.close();
  vi.unstubAllGlobals();
  vi.useRealTimers();
});

describe("asks", () => {
  it("go one at a time, and only the newest waits", () => {
    FakeSocket.last.accept();
    for (const share of [0.1, 0.2, 0.3, 0.4]) channel.ask({ "tank[0]": share });
    expect(FakeSocket.last.sent.map((ask) => ask.fills["tank[0]"])).toEqual([0.1]);
    FakeSocket.last.tell({ kind: "answer", seq: 1 });
    expect(FakeSocket.last.sent.map((ask) => ask.fills["tank[0]"])).toEqual([0.1, 0.4]);
    FakeSocket.last.tell({ kind: "answer", seq: 4 });
    expect(FakeSocket.last.sent).toHaveLength(2);
    expect(channel.answer?.seq).toBe(4);
  });

  it("are not held up by a refusal", () => {
    FakeSocket.last.accept();
    channel.ask({ "tank[0]": 0.1 });
    channel.ask({ "tank[0]": 0.2 });
    FakeSocket.last.tell({ kind: "refused", seq: 1, advice: [] });
    expect(channel.refused?.seq).toBe(1);
    expect(FakeSocket.last.sent.map((ask) => ask.seq)).toEqual([1, 2]);
    FakeSocket.last.tell({ kind: "answer", seq: 2 });
    expect(channel.refused).toBeNull();
  });

  it("made before the line stands are sent when it does, the newest alone", () => {
    channel.ask({ "tank[0]": 0.1 });
    channel.ask({ "tank[0]": 0.9 });
    FakeSocket.last.accept();
    expect(FakeSocket.last.sent.map((ask) => ask.fills["tank[0]"])).toEqual([0.9]);
  });

  it("can be made once more with what was asked last", () => {
    FakeSocket.last.accept();
    channel.again();
    expect(FakeSocket.last.sent).toHaveLength(0);
    channel.ask({ "tank[0]": 0.5 }, [{ key: "part[1]", shift_m: [0.01, 0, 0] }]);
    FakeSocket.last.tell({ kind: "answer", seq: 1 });
    channel.again();
    expect(FakeSocket.last.sent[1]).toEqual({ ...FakeSocket.last.sent[0], seq: 2 });
  });
});

describe("a line that breaks", () => {
  it("is tried again, each time later up to ten seconds, and at once when the page wakes", () => {
    FakeSocket.last.accept();
    const waits: number[] = [];
    for (let times = 0; times < 7; times += 1) {
      const before = FakeSocket.all.length;
      FakeSocket.last.close();
      expect(channel.connected).toBe(false);
      let waited = 0;
      while (FakeSocket.all.length === before) {
        vi.advanceTimersByTime(100);
        waited += 100;
      }
      waits.push(waited);
    }
    // doubled from half a second, held at ten seconds
    expect(waits).toEqual([500, 1000, 2000, 4000, 8000, 10_000, 10_000]);
    FakeSocket.last.close();
    const before = FakeSocket.all.length;
    window.dispatchEvent(new Event("online"));
    expect(FakeSocket.all).toHaveLength(before + 1);
    FakeSocket.last.accept();
    FakeSocket.last.close();
    vi.advanceTimersByTime(500);
    expect(FakeSocket.all).toHaveLength(before + 2);
  });

  it("asks again for what was never answered", () => {
    FakeSocket.last.accept();
    channel.ask({ "tank[0]": 0.3 });
    FakeSocket.last.close();
    vi.advanceTimersByTime(500);
    FakeSocket.last.accept();
    expect(FakeSocket.last.sent.map((ask) => ask.fills["tank[0]"])).toEqual([0.3]);
  });

  it("is told as lost when it cannot be mended at once", () => {
    FakeSocket.last.accept();
    FakeSocket.last.close();
    expect(lost).not.toHaveBeenCalled();
    vi.advanceTimersByTime(500);
    FakeSocket.last.close();
    expect(lost).toHaveBeenCalledOnce();
  });

  it("is not tried again once the boat was left", () => {
    FakeSocket.last.accept();
    channel.close();
    vi.advanceTimersByTime(60_000);
    window.dispatchEvent(new Event("online"));
    expect(FakeSocket.all).toHaveLength(1);
  });
});

it("notices are passed on, and work under way is kept by its number", () => {
  expect(FakeSocket.last.url).toMatch(/^ws:.*\/api\/boats\/wren%202\/live$/);
  FakeSocket.last.accept();
  FakeSocket.last.tell({ kind: "hello", revision: 4 });
  FakeSocket.last.tell({ kind: "changed", revision: 5, what: "Move battery", by: "phone" });
  FakeSocket.last.tell({ kind: "job", job: "j1", state: "running", text: "", share: 0.5 });
  expect(hello).toHaveBeenCalledWith(4);
  expect(changed).toHaveBeenCalledWith({ kind: "changed", revision: 5, what: "Move battery", by: "phone" });
  expect(channel.jobs.j1?.share).toBe(0.5);
});
