import { describe, expect, it } from "vitest";
import type { Job } from "../../src/api";
import { worth_showing } from "../../src/bench/Jobs";
import { wow_limits } from "../../src/bench/plots";
import type { HeardSide, Shape } from "../../src/contracts";
import { not_heard_rings, part_words } from "../../src/subjects/SidePage";
import { counted, field_words } from "../../src/units";

const shape = {
  format: "12in-33",
  rpm: 100 / 3,
  outer_radius_m: 0.146,
  inner_radius_m: 0.06,
  pitch_m: 100e-6,
} as Shape;

describe("the wow's limits", () => {
  const report = {
    shape,
    programme_start_s: 2,
    programme_end_s: 1202,
    wow: { curve: { time_s: [2, 1202], deviation: [0, 0] } },
  } as unknown as HeardSide;
  it("are the offset over the radius of the groove there, and the peak once a turn", () => {
    const [offset, peak] = wow_limits(report, {
      eccentricity_m: 0.2e-3,
      once_per_rev_peak: 0.002,
      level_deviation_dB: null,
    });
    expect(offset?.[0]?.[1]).toBeCloseTo((0.2e-3 / 0.146) * 100, 9);
    expect(offset?.at(-1)?.[1]).toBeCloseTo((0.2e-3 / 0.06) * 100, 9);
    expect(peak?.every(([, y]) => Math.abs(y - 0.2) < 1e-12)).toBe(true);
  });
  it("are none where the works has none, or judges by others now", () => {
    expect(wow_limits(report, null)).toEqual([]);
    expect(
      wow_limits(report, { eccentricity_m: null, once_per_rev_peak: null, level_deviation_dB: 3 }),
    ).toEqual([]);
  });
});

describe("what a play did not hear", () => {
  it("lies on the disc where the groove runs then", () => {
    // 33 1/3 turns in a minute of 0.1 mm each: 3.33 mm.
    const [ring] = not_heard_rings(shape, [[60, 120]]);
    expect(ring?.[0]).toBeCloseTo(0.146 - 0.1e-3 * (100 / 3), 9);
    expect(ring?.[1]).toBeCloseTo(0.146 - 0.1e-3 * (200 / 3), 9);
    expect(not_heard_rings({ ...shape, pitch_m: 0 }, [[60, 120]])).toEqual([]);
  });
  it("is told in programme time", () => {
    expect(part_words([])).toBe("");
    expect(part_words([[185, 240]])).toBe("not heard: 3:05–4:00");
  });
});

describe("what people read", () => {
  it("counts one disc as one", () => {
    expect(counted(1, "sample discs to be heard")).toBe("1 sample disc to be heard");
    expect(counted(2, "sample discs to be heard")).toBe("2 sample discs to be heard");
    expect(counted(1, "batches to weigh")).toBe("1 batch to weigh");
  });
  it("says fields of the report in words", () => {
    expect(field_words("wow.out_of_round_m")).toBe("Wow, out of round");
    expect(field_words("noise.echo.lead_dB")).toBe("Noise, echo, lead");
    expect(field_words("levels.high_loss_dB_per_m")).toBe("Levels, high loss");
  });
  it("shows of a side's finished traces the newest alone", () => {
    const job = (id: string, kind: Job["kind"], what: string, state: Job["state"]) => ({ id, kind, what, state }) as Job;
    const all = [
      job("1", "trace", "a", "done"),
      job("2", "trace", "a", "done"),
      job("3", "trace", "a", "failed"),
      job("4", "hear", "x", "done"),
      job("5", "hear", "x", "done"),
      job("6", "trace", "b", "done"),
    ];
    expect(worth_showing(all).map((one) => one.id)).toEqual(["1", "3", "4", "5", "6"]);
  });
});
