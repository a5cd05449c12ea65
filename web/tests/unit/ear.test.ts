import { describe, expect, it } from "vitest";
import type { Opinion } from "../../src/api";
import { reaction_s, said_of, same_s, tap_at } from "../../src/bench/ear";
import { channel_gains, fade_ends, gain_of } from "../../src/bench/player";
import { window_of } from "../../src/bench/Bench";
import { clock_of } from "../../src/bench/clock";
import { envelope } from "../../src/bench/Strip";
import type { Fault, HeardSide } from "../../src/contracts";
import { pairs_of, same_place_s } from "../../src/subjects/Overlay";

const fault = (id: number, capture_s: number, programme_s: number | null = capture_s - 3) =>
  ({ id, kind: "pop", capture_s, programme_s }) as Fault;

describe("the listener's taps", () => {
  it("mean the engine's fault just before the hand moved", () => {
    expect(tap_at(10 + reaction_s, [fault(1, 10), fault(2, 10.5)])).toMatchObject({
      fault: 1,
      kind: "pop",
      capture_s: 10,
    });
  });
  it("are the listener's own where the engine has none", () => {
    const tap = tap_at(50, [fault(1, 50 - reaction_s - same_s - 0.01)]);
    expect(tap.fault).toBeNull();
    expect(tap.capture_s).toBeCloseTo(50 - reaction_s, 9);
    expect(tap_at(0.05, []).capture_s).toBe(0);
  });
  it("the newest word on a fault counts, each listener's own", () => {
    const word = (who: string, fault: number | null, opinion: Opinion["opinion"], at_ms: number): Opinion => ({
      code: `${at_ms}`,
      who,
      at_ms,
      fault,
      opinion,
      programme_s: null,
      capture_s: null,
      what: null,
      words: null,
    });
    const all = [
      word("a", 1, "disagree", 5),
      word("a", 1, "agree", 2),
      word("b", 1, "agree", 9),
      word("a", null, "added", 7),
    ];
    expect(said_of(all, "a").get(1)?.opinion).toBe("disagree");
    expect(said_of(all, null).get(1)?.who).toBe("b");
    expect(said_of(all, "a").size).toBe(1);
  });
});

describe("the sound", () => {
  it("of a loop begins and ends at nothing, and is whole between", () => {
    const samples = new Float32Array(1000).fill(0.5);
    fade_ends(samples, 100);
    expect(Math.abs(samples[0] as number)).toBeLessThan(1e-3);
    expect(Math.abs(samples[999] as number)).toBeLessThan(1e-3);
    expect(samples.slice(100, 900).every((one) => one === 0.5)).toBe(true);
    for (let i = 1; i < 100; ++i) expect(samples[i] as number).toBeGreaterThan(samples[i - 1] as number);
  });
  it("of a lateral cut has nothing vertical, and the other way round", () => {
    const ears = (channels: keyof typeof channel_gains, left: number, right: number) => {
      const [ll, lr, rl, rr] = channel_gains[channels];
      return [ll * left + rl * right, lr * left + rr * right];
    };
    expect(ears("vertical", 0.3, 0.3)).toEqual([0, 0]);
    expect(ears("lateral", 0.3, -0.3)).toEqual([0, 0]);
    expect(ears("lateral", 0.3, 0.3)).toEqual([0.3, 0.3]);
    expect(ears("left", 0.3, 0.9)).toEqual([0.3, 0.3]);
    expect(ears("stereo", 0.3, 0.9)).toEqual([0.3, 0.9]);
  });
  it("20 dB is ten times the amplitude", () => expect(gain_of(20)).toBeCloseTo(10, 12));
  it("close up keeps every sample's extremes", () => {
    const samples = Float32Array.from({ length: 4801 }, (_, i) => Math.sin(i / 5));
    samples[4800] = -3;
    samples[77] = 2;
    const columns = envelope(samples, 600);
    expect(columns).toHaveLength(600);
    expect(Math.max(...columns.map((one) => one.most))).toBe(2);
    expect(Math.min(...columns.map((one) => one.least))).toBe(-3);
    expect(envelope(new Float32Array(3), 10)).toHaveLength(10);
  });
});

describe("time", () => {
  const report = (found: boolean) =>
    ({
      duration_s: 60,
      programme_start_s: 3.4,
      programme_end_s: 51.37,
      heard: [[0, 48]],
      faults: [],
      alignment: found ? { found: true, speed_error_ppm: 620.25 } : null,
    }) as unknown as HeardSide;
  it("of the capture and of the programme lead to one another", () => {
    const clock = clock_of(report(true));
    expect(clock.of_capture(3.4)).toBeCloseTo(0, 9);
    for (const s of [0, 10, 47.9]) expect(clock.of_capture(clock.to_capture(s))).toBeCloseTo(s, 9);
    // Both ends of the programme as the engine found them: 48 s of cut.
    expect(clock.of_capture(51.37)).toBeCloseTo(48, 2);
  });
  it("is the capture's own where the cut was not found", () => {
    expect(clock_of(report(false))).toMatchObject({ from_s: 0, to_s: 60, words: "capture time, min:s" });
  });
});

describe("what is looped", () => {
  it("lies about the fault and within the capture, as long as asked", () => {
    expect(window_of(fault(1, 10), 2, 60)).toEqual([9, 11]);
    expect(window_of(fault(1, 0.3), 2, 60)).toEqual([0, 2]);
    expect(window_of(fault(1, 59.9), 2, 60)).toEqual([58, 60]);
    expect(window_of(fault(1, 0.5), 10, 1)).toEqual([0, 1]);
  });
});

describe("two discs", () => {
  it("share a fault where both have one at the same place, each counted once", () => {
    const pairs = pairs_of([fault(1, 13, 10), fault(2, 13.1, 10.004)], [fault(7, 20, 10.003), fault(8, 30, 25)]);
    const both = pairs.filter((pair) => pair.one && pair.other);
    expect(both).toHaveLength(1);
    expect(both[0]).toMatchObject({ one: { id: 2 }, other: { id: 7 } });
    expect(pairs).toHaveLength(3);
    expect(pairs_of([fault(1, 0, 10)], [fault(2, 0, 10 + same_place_s * 1.01)])).toHaveLength(2);
    expect(pairs_of([fault(1, 0, null)], [fault(2, 0, null)])).toHaveLength(2);
  });
});
