import { describe, expect, it } from "vitest";
import type { Fault, HeardSide, Shape } from "../../src/contracts";
import { fault_near, has_place, mark_of } from "../../src/portrait/faults";
import { offset_magnification, shown_radius_m, sit } from "../../src/portrait/sitting";
import { rings_of } from "../../src/portrait/rings";
import {
  crowding,
  groove_at,
  groove_place,
  groove_radius_m,
  mark_radius,
  page_angle_rad,
  place,
  type View,
  views,
  with_pitch,
} from "../../src/portrait/geometry";
import { project_file } from "./files";

const shape: Shape = {
  format: "12in-33",
  rpm: 100 / 3,
  outer_radius_m: 0.1463,
  inner_radius_m: 0.06,
  pitch_m: 0.0001,
  edge_radius_m: 0.1505,
  label_radius_m: 0.051,
  hole_radius_m: 0.00362,
};
const view = (name: View, landmark_angle_deg = 0) => ({
  view: name,
  centre: { x: 300, y: 300 },
  units_per_m: 1000,
  landmark_angle_deg,
});

// The look: a disc turns clockwise under the stylus, so programme runs counter-clockwise on a disc, clockwise on metal
// that is mirrored, and begins at the top.
describe("where a place of the groove lies", () => {
  it("begins at the top and runs to the left on a disc, as heard", () => {
    for (const name of ["disc", "mother"] as const) {
      expect(place(view(name), 0.1, 0)).toEqual({ x: expect.closeTo(300, 9), y: expect.closeTo(200, 9) });
      expect(place(view(name), 0.1, 90)).toEqual({ x: expect.closeTo(200, 9), y: expect.closeTo(300, 9) });
      expect(place(view(name), 0.1, 180)).toEqual({ x: expect.closeTo(300, 9), y: expect.closeTo(400, 9) });
    }
  });

  it("runs to the right on the mirrored metal", () => {
    for (const name of ["stamper", "father"] as const)
      expect(place(view(name), 0.1, 90)).toEqual({ x: expect.closeTo(400, 9), y: expect.closeTo(300, 9) });
  });

  it("a stamper is the disc's mirror image about the notch's line, at every angle", () => {
    for (let angle = 0; angle < 360; angle += 7) {
      const disc = place(view("disc"), 0.08, angle),
        stamper = place(view("stamper"), 0.08, angle);
      expect(stamper.x - 300).toBeCloseTo(300 - disc.x, 9);
      expect(stamper.y).toBeCloseTo(disc.y, 9);
    }
  });

  it("a landmark is turned to the top", () => {
    for (const name of views) expect(place(view(name, 77), 0.1, 77).y).toBeCloseTo(200, 9);
  });

  it("what is pointed at is the place that was drawn: groove_place undoes place", () => {
    for (const name of views)
      for (const landmark of [0, 33, 250])
        for (let angle = 1; angle < 360; angle += 23) {
          const back = groove_place(view(name, landmark), place(view(name, landmark), 0.0912, angle));
          expect(back.angle_deg).toBeCloseTo(angle, 8);
          expect(back.radius_m).toBeCloseTo(0.0912, 12);
        }
  });

  it("angles of the page and of the place agree", () => {
    const angle = page_angle_rad(view("disc"), 40),
      at = place(view("disc"), 0.1, 40);
    expect(Math.atan2(at.y - 300, at.x - 300)).toBeCloseTo(Math.atan2(Math.sin(angle), Math.cos(angle)), 9);
  });
});

describe("the groove", () => {
  // Second road: the contract's words, revolution = floor(t rpm / 60), angle = 360 frac(t rpm / 60).
  it("is where the contract says", () => {
    const at = groove_at(shape, 90.45);
    expect(at.revolution).toBe(50);
    expect(at.angle_deg).toBeCloseTo(90, 6);
    expect(at.radius_m).toBeCloseTo(0.1463 - 50.25 * 0.0001, 9);
  });

  it("stays within the recorded band", () => {
    expect(groove_radius_m(shape, -3)).toBe(shape.outer_radius_m);
    expect(groove_radius_m(shape, 1e6)).toBe(shape.inner_radius_m);
  });

  it("takes the mean pitch where none is told", () => {
    expect(with_pitch({ ...shape, pitch_m: 0 }, 1200).pitch_m).toBeCloseTo((0.1463 - 0.06) / (1200 / 1.8), 9);
    expect(with_pitch(shape, 1200).pitch_m).toBe(0.0001);
  });

  // The engine's own figures: every fault that has a place in the approved listening report of the C++ tests.
  it("agrees with the engine's report on angle and revolution", () => {
    const report = JSON.parse(project_file("tests/json/golden/listening_report.json")) as {
      geometry: Shape;
      faults: Fault[];
    };
    const side = { ...shape, ...report.geometry };
    const told = report.faults.filter((fault) => fault.programme_s !== null && fault.revolution !== null);
    expect(told.length).toBeGreaterThan(0);
    for (const fault of told) expect(groove_at(side, fault.programme_s as number).revolution).toBe(fault.revolution);
  });
});

const fault = (id: number, more: Partial<Fault>): Fault => ({
  id,
  kind: "tick",
  capture_s: 10,
  programme_s: 8,
  revolution: 4,
  angle_deg: 90,
  angle_sigma_deg: 1,
  radius_m: 0.1,
  radius_sigma_m: 0.001,
  duration_s: 0.001,
  peak_dB: -20,
  excess_dB: 20,
  channel: "both",
  plane: "lateral",
  audibility: "plain",
  pattern: null,
  ...more,
});

const heard = (faults: Fault[]): HeardSide => ({
  report: "RP-1",
  shape,
  duration_s: 1210,
  programme_start_s: 3,
  programme_end_s: 1203,
  heard: [[0, 1200]],
  faults,
  patterns: [],
  polar: null,
  offset: { eccentricity_m: 0.0002, eccentricity_sigma_m: 0.00001, eccentricity_direction_deg: 45 },
  verdict: { pass: false, limits: "12in-33", reasons: [] },
  alignment: null,
  levels: { third_octave: [], balance_dB: null, separation_dB: null, high_loss_dB_per_m: null },
  wow: { once_per_rev_peak: null, weighted_2sigma: null, curve: null },
  noise: { weighted_dB: null, rumble_dB: null, hum_dB: null },
  undetermined: [],
  remarks: [],
});
const options = {
  view: "disc" as View,
  landmark_angle_deg: 0,
  shrinkage: 0,
  system: "metric" as const,
  size: 600,
  width: 600,
};

describe("marks", () => {
  it("grow with loudness from 3.5 at -40 dB to 10 at full scale, as on paper", () => {
    expect(mark_radius(-90)).toBe(3.5);
    expect(mark_radius(-20)).toBeCloseTo(6.75, 12);
    expect(mark_radius(6)).toBe(10);
  });

  it("shrink where there are more than the disc has room for", () => {
    expect(crowding(100)).toBe(1);
    expect(crowding(480)).toBeCloseTo(0.5, 12);
    expect(crowding(1e6)).toBe(0.45);
  });

  it("a finger finds the nearest fault within reach and none beyond it", () => {
    const sitting = sit(
      heard([fault(1, { angle_deg: 90 }), fault(2, { angle_deg: 100 }), fault(3, { angle_deg: null })]),
      options,
    );
    const one = sitting.report.faults[1] as Fault;
    if (!has_place(one)) throw new Error("it has a place");
    const { at } = mark_of(sitting, one);
    expect(fault_near(sitting, { x: at.x + 3, y: at.y })?.id).toBe(2);
    expect(fault_near(sitting, { x: at.x + 3, y: at.y + 200 })).toBeNull();
  });
});

describe("the portrait", () => {
  it("keeps real proportions: the edge touches the margin, the hole is 7.24 mm of 301", () => {
    const sitting = sit(heard([]), options);
    expect(sitting.view.units_per_m * shape.edge_radius_m).toBeCloseTo(300 - 34, 9);
    expect(shape.hole_radius_m / shape.edge_radius_m).toBeCloseTo(7.24 / 301, 4);
  });

  it("draws the offset as large as the label allows, by a round number", () => {
    const enlarged = offset_magnification(heard([]));
    expect(enlarged).toBe(100);
    expect(0.00022 * enlarged).toBeLessThan(0.8 * shape.label_radius_m);
    expect(
      offset_magnification({
        ...heard([]),
        offset: { eccentricity_m: null, eccentricity_sigma_m: null, eccentricity_direction_deg: null },
      }),
    ).toBe(0);
  });

  it("sets its time rings at round times, at their radius, apart enough to read", () => {
    const sitting = sit(heard([]), options),
      rings = rings_of(sitting);
    expect(rings.length).toBeGreaterThan(1);
    rings.forEach((ring, i) => {
      expect(ring.radius_m).toBeCloseTo(groove_at(sitting.side, ring.time_s).radius_m, 9);
      if (i > 0)
        expect(
          ((rings[i - 1] as typeof ring).radius_m - ring.radius_m) * sitting.view.units_per_m,
        ).toBeGreaterThanOrEqual(29.9);
    });
  });

  it("gives the radius on the metal, larger by the shrinkage", () => {
    expect(shown_radius_m({ view: "disc", shrinkage: 0.005 }, 0.1)).toBe(0.1);
    expect(shown_radius_m({ view: "stamper", shrinkage: 0.005 }, 0.1)).toBeCloseTo(0.1 / 0.995, 12);
  });
});
