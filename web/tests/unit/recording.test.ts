import { describe, expect, it } from "vitest";
import type { Recording } from "../../src/api";
import { act_now, device_words, meter_share, next_letter, warnings } from "../../src/bench/recording";

const one = (more: Partial<Recording>): Recording => ({
  id: "1",
  state: "recording",
  who: "Ida",
  at_ms: 0,
  device: "hw:1",
  ticket: "S-000002-1",
  letter: "A",
  after: "as found",
  bench: null,
  title: "The Ferryman",
  programme_s: 190,
  sample_rate_Hz: 96000,
  channels: 2,
  recorded_s: 42,
  kept_s: 41,
  silent_s: 0,
  floor_dB: -84,
  peak_dB: [-12, -13],
  highest_dB: [-6, -7],
  clipped: 0,
  overruns_s: [],
  false_starts: 0,
  ended: null,
  error: null,
  job: null,
  ...more,
});

describe("a side being recorded", () => {
  it("says what to do next, in one line", () => {
    expect(act_now(one({ state: "settling" }))).toBe("Keep the stylus up for a second");
    expect(act_now(one({ state: "waiting" }))).toBe("Lower the stylus on side A of The Ferryman");
    expect(act_now(one({}))).toBe("Recording side A of The Ferryman: 0:42 of 3:10");
    expect(act_now(one({ programme_s: null }))).toBe("Recording side A of The Ferryman: 0:42");
  });
  it("counts down to the end when the stylus is up, sooner once the cut is over", () => {
    expect(act_now(one({ silent_s: 4 }))).toBe("The stylus is up: ends in 6\u2009s");
    expect(act_now(one({ silent_s: 2, recorded_s: 195 }))).toBe("The stylus is up: ends in 1\u2009s");
    expect(act_now(one({ silent_s: 1 }))).toContain("Recording");
  });
  it("warns of lost sound, of too much and too little level, and of nothing else", () => {
    expect(warnings(one({}))).toEqual([]);
    expect(warnings(one({ overruns_s: [63, 125] }))[0]).toContain("1:03, 2:05");
    expect(warnings(one({ clipped: 12 }))[0]).toContain("12 samples");
    expect(warnings(one({ highest_dB: [-50, -47] }))[0]).toContain("Very quiet");
    expect(warnings(one({ highest_dB: [-50, -47], recorded_s: 4 }))).toEqual([]);
  });
  it("shows levels from -60 dB to full scale", () => {
    expect([-80, -60, -30, 0, 3].map(meter_share)).toEqual([0, 0, 0.5, 1, 1]);
  });
  it("names inputs for people and knows the side that comes next", () => {
    expect(device_words({ name: "hw:1", words: "Phono input" })).toBe("Phono input (hw:1)");
    expect(device_words({ name: "hw:1", words: null })).toBe("hw:1");
    expect(["A", "B", "C", "D"].map(next_letter)).toEqual(["B", "C", "D", null]);
  });
});
