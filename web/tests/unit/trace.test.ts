import { describe, expect, it } from "vitest";
import type { Family, FamilyDisc } from "../../src/api";
import type { Cause, NextAct, RecurringFault } from "../../src/contracts";
import {
  cause_words,
  heard_there,
  lanes_of,
  next_words,
  ranges_words,
  recurring_at,
  since_words,
  tree_of,
  type Node,
} from "../../src/trace/family";
import { columns_of } from "../../src/trace/pictures";

const disc = (
  id: string,
  stamper: string,
  impression: number,
  heard: FamilyDisc["heard"] = "good",
  mounting: string | null = null,
): FamilyDisc => ({
  id,
  run: "R",
  impression: [impression, impression],
  stamper,
  mounting,
  fetchable: true,
  heard,
  report: heard === "waiting" ? null : `L-${id}`,
});
const family: Family = {
  side: "SD-1",
  impressions: 400,
  parts: [
    { id: "C", kind: "cut", parent: null, grown: null },
    { id: "F", kind: "father", parent: "C", grown: 1 },
    { id: "M2", kind: "mother", parent: "F", grown: 2 },
    { id: "M1", kind: "mother", parent: "F", grown: 1 },
    { id: "S1", kind: "stamper", parent: "M1", grown: 1 },
    { id: "S2", kind: "stamper", parent: "M1", grown: 2 },
    { id: "S3", kind: "stamper", parent: "M2", grown: 1 },
  ],
  mountings: [
    { id: "N1", stamper: "S1", press: "PR", impressions: [1, 100] },
    { id: "N2", stamper: "S2", press: "PR", impressions: [101, 300] },
    { id: "N3", stamper: "S3", press: "PR", impressions: [301, 400] },
  ],
  discs: [
    disc("a", "S1", 50, "good", "N1"),
    disc("b", "S2", 150, "bad", "N2"),
    disc("c", "S2", 120, "good", "N2"),
    disc("d", "S3", 350, "waiting", "N3"),
    disc("e", "S2", 250, "bad", "N2"),
  ],
};
const cause = (more: Partial<Cause>): Cause => ({
  level: "stamper",
  id: "S2",
  posterior: 0.9,
  onset: { low: 121, high: 150, best: 140 },
  end: null,
  ...more,
});
const fault = (more: Partial<RecurringFault> = {}): RecurringFault => ({
  id: 1,
  side: "A",
  programme_s: 192,
  programme_sigma_s: 0.001,
  kind: "tick",
  pattern: null,
  audibility: "plain",
  on: ["b", "e"],
  heard: 4,
  detection: 0.9,
  chance: 0.001,
  cause: cause({}),
  alternatives: [cause({ level: "mother", id: "M1", posterior: 0.1 })],
  suspect: { impressions: [[121, 300]], discs: 180, flawed: 160, cartons: [], spindles: [] },
  next: [],
  action: { text: "", cost: 0 },
  open: true,
  ...more,
});
const all = (roots: readonly Node[]): Node[] => roots.flatMap((one) => [one, ...all(one.children)]);

describe("what was heard of a disc", () => {
  it("is the fault, nothing, or not heard yet", () => {
    const on = { on: new Set(["b"]), not_heard: new Set<string>() };
    expect(family.discs.map((one) => heard_there(one, on))).toEqual(["clean", "fault", "clean", "not_heard", "clean"]);
    expect(heard_there({ ...disc("x", "S1", 1), report: null }, on)).toBe("not_heard");
    // Heard, but the play ended before the place.
    expect(heard_there(disc("x", "S1", 1), { ...on, not_heard: new Set(["x"]) })).toBe("not_heard");
  });
});

describe("the tree", () => {
  const { roots, rows } = tree_of(family, fault(), 30);
  const node = (id: string) => all(roots).find((one) => one.id === id) as Node;
  it("hangs every part under its parent in the order it grew, mountings under their stamper", () => {
    expect(roots.map((one) => one.id)).toEqual(["C"]);
    expect(node("F").children.map((one) => one.id)).toEqual(["M1", "M2"]);
    expect(node("S2").children.map((one) => one.id)).toEqual(["N2"]);
    expect(rows).toBe(3);
  });
  it("marks the cause, what it touched, and the shares", () => {
    expect(node("S2").is_cause).toBe(true);
    expect(node("N2").below_cause).toBe(true);
    expect(node("S1").below_cause).toBe(false);
    expect(node("S2").share).toBe(0.9);
    expect(node("M1").share).toBe(0.1);
  });
  it("counts each disc once on the way up", () => {
    expect([node("S2").faulty, node("S2").heard]).toEqual([2, 3]);
    expect([node("C").faulty, node("C").heard]).toEqual([2, 4]);
  });
  it("leaves out what does not matter when there is no room, never the cause, and says how many", () => {
    const small = all(tree_of(family, fault(), 1).roots);
    expect(small.some((one) => one.id === "S2")).toBe(true);
    expect(small.some((one) => one.id === "S3")).toBe(false);
    expect(small.filter((one) => one.left_out > 0).length).toBeGreaterThan(0);
  });
  it("leaves out a stamper of the other side's", () => {
    const other = {
      ...family,
      parts: [...family.parts, { id: "S9", kind: "stamper" as const, parent: null, grown: null }],
    };
    expect(all(tree_of(other, fault(), 30).roots).some((one) => one.id === "S9")).toBe(false);
  });
  it("a record that runs in a circle does not hang the page", () => {
    const circle = {
      ...family,
      parts: [
        { id: "X", kind: "stamper" as const, parent: "Y", grown: 1 },
        { id: "Y", kind: "stamper" as const, parent: "X", grown: 1 },
      ],
    };
    expect(tree_of({ ...circle, discs: [disc("a", "X", 5), disc("b", "Y", 6)] }, fault(), 30).roots).toHaveLength(2);
  });
});

describe("the lanes", () => {
  it("stand in the order of pressing and know what the cause can have touched", () => {
    const { lanes, last } = lanes_of(family, fault());
    expect(lanes.map((one) => [one.stamper, one.touched, one.faulty, one.heard])).toEqual([
      ["S1", false, 0, 1],
      ["S2", true, 2, 3],
      ["S3", false, 0, 0],
    ]);
    expect(last).toBe(400);
  });
  it("a mother touches her stampers, a press all, a mounting its own", () => {
    const touched = (level: Cause["level"], id: string) =>
      lanes_of(family, fault({ cause: cause({ level, id }) }))
        .lanes.filter((one) => one.touched)
        .map((one) => one.stamper);
    expect(touched("mother", "M1")).toEqual(["S1", "S2"]);
    expect(touched("press", "PR")).toEqual(["S1", "S2", "S3"]);
    expect(touched("mounting", "N3")).toEqual(["S3"]);
  });
  it("with more discs than room the worst of each place is shown, and none is lost from the count", () => {
    const many = {
      ...family,
      discs: Array.from({ length: 5000 }, (_, i) =>
        disc(`x${i}`, "S2", 101 + (i % 200), i === 77 ? "bad" : "good", "N2"),
      ),
    };
    const lane = lanes_of(many, fault({ on: ["x77"] })).lanes[1];
    if (!lane) throw new Error("a lane");
    const columns = columns_of(lane, (impression) => impression * 2, 9);
    expect(columns.length).toBeLessThan(60);
    expect(columns.filter((one) => one.there === "fault")).toHaveLength(1);
    expect(columns.reduce((sum, one) => sum + one.n, 0)).toBe(5000);
  });
});

describe("a fault of one disc", () => {
  it("is part of what recurs at its place, and of nothing a little aside", () => {
    const one = fault(),
      other = fault({ id: 2, programme_s: 192.003 });
    expect(recurring_at([other, one], 192.001)?.id).toBe(1);
    expect(recurring_at([one], 192.02)).toBeNull();
    expect(recurring_at([one], null)).toBeNull();
  });
});

describe("words", () => {
  const act = (more: Partial<NextAct>): NextAct => ({
    act: "spot-hear",
    disc: null,
    part: null,
    carton: null,
    spindle: null,
    where: "",
    minutes: 5,
    gain_bits: 1,
    ...more,
  });
  it("say what to fetch, from where, and what to do with it", () => {
    expect(next_words(act({ disc: "S-1", impression: [512, 512], carton: "K-3" }))).toBe(
      "Fetch disc S-1 (impression 512) from carton K-3 and hear this place",
    );
    expect(next_words(act({ carton: "K3", impression: [51, 75], act: "hear" }))).toBe(
      "Fetch one disc from carton K3 (impressions 51–75) and hear it",
    );
    expect(next_words(act({ act: "microscope", part: "S2" }))).toBe("Look with the microscope at S2");
  });
  it("say since when", () => {
    expect(since_words(cause({ since_birth: 0.9 }))).toBe("since its birth (90\u2009%: 121 to 150)");
    expect(since_words(cause({ since_birth: 0.1, end: { low: 1, high: 2, best: 260, probability: 0.8 } }))).toBe(
      "since impression 140 (90\u2009%: 121 to 150) gone from 260 on",
    );
    expect(cause_words(cause({ level: "dust", id: null }))).toBe("dust");
    expect(
      ranges_words([
        [1, 4],
        [9, 9],
      ]),
    ).toBe("1–4, 9");
  });
});
