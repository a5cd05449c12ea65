import { describe, expect, it, vi } from "vitest";
import type { Order } from "../../src/api";
import { asked, type FamilyMember, type FlowGroup, written } from "../../src/works/api";
import { figure, whole, without_commands } from "../../src/works/act";
import { branches, part_state } from "../../src/works/Family";
import { one_step } from "../../src/works/Flow";
import { stretches } from "../../src/works/OrderSheet";
import { is_count } from "../../src/works/Pack";
import { KeyReader, wait_ms } from "../../src/works/scanner";
import { project_file } from "./files";

const part = (code: string, parent: string | null, more: Partial<FamilyMember> = {}): FamilyMember => ({
  code,
  kind: "stamper",
  letter: "A",
  side: "SD-0001-A",
  parent,
  grown: null,
  origin: "grown",
  state: "ready",
  face: 1,
  closings: 0,
  heard: 0,
  passed: 0,
  last_step: null,
  ...more,
});

describe("the family", () => {
  it("grows from what has no parent here, children in the order that they grew, each part once", () => {
    const parts = [part("S2", "M", { grown: 2 }), part("S1", "M", { grown: 1 }), part("M", "F"), part("B", "elsewhere")];
    const tree = branches(parts, null);
    expect(tree.map((one) => one.part.code)).toEqual(["B", "M"]);
    expect(tree[1]?.children.map((one) => one.part.code)).toEqual(["S1", "S2"]);
    const all = (list: typeof tree): number => list.reduce((sum, one) => sum + 1 + all(one.children), 0);
    expect(all(tree)).toBe(parts.length);
  });

  it("a part that was heard bad is suspect, whatever its state; one that is gone says so first", () => {
    expect(part_state(part("S", null))).toBe("good");
    expect(part_state(part("S", null, { heard: 5, passed: 4 }))).toBe("suspect");
    expect(part_state(part("S", null, { heard: 5, passed: 4, state: "withdrawn" }))).toBe("out");
    expect(part_state(part("S", null, { state: "scrapped" }))).toBe("scrap");
    expect(part_state(part("S", null, { state: "growing" }))).toBe("unknown");
  });
});

describe("an order's bar", () => {
  const order = (counts: Partial<Order["standing"]["counts"]>, quantity = 100) =>
    ({
      standing: {
        quantity,
        counts: {
          pressed: 0,
          edge_finished: 0,
          in_sample: 0,
          good_stock: 0,
          suspect: 0,
          packed: 0,
          shipped: 0,
          scrap: 0,
          unaccounted: 0,
          ...counts,
        },
      },
    }) as Order;

  it("is as long as what was ordered, and each disc is in one stretch", () => {
    const all = stretches(order({ shipped: 30, packed: 20, good_stock: 10, pressed: 5, edge_finished: 5, suspect: 2, scrap: 9 }));
    expect(all.reduce((sum, one) => sum + one.discs, 0)).toBe(100);
    expect(all.map((one) => one.discs)).toEqual([30, 20, 10, 10, 2, 28]);
  });

  it("grows longer where more was made, and nothing is to be pressed then", () => {
    const all = stretches(order({ shipped: 100, good_stock: 7 }));
    expect(all.map((one) => one.name)).toEqual(["shipped", "inspected and good"]);
  });
});

describe("a scan", () => {
  it("is a count where it has fewer figures than any code", () => {
    for (const text of ["25", " 25 ", "0", "9999"]) expect(is_count(text)).toBe(true);
    for (const text of ["", "25a", "K-000001-S", "12345", "(00)340123450000000005", "-3", "2.5"])
      expect(is_count(text)).toBe(false);
  });
  it("whole numbers alone are read, and written as people write them", () => {
    expect([whole(" 12 "), whole("1e3"), whole("-1"), whole("")]).toEqual([12, null, null, null]);
    expect(figure(1047)).toBe("1\u202f047");
  });
});

describe("a refusal", () => {
  it("is told without the command line's words, and never without its reason", () => {
    for (const [told, shown] of [
      ["PR-01-3 is taken by mounting M-00001-X; `goodside works unmount M-00001-X --counter …` comes first", "PR-01-3 is taken by mounting M-00001-X"],
      ["7 discs do not fill a carton of 20; say --part to pack a part carton", "7 discs do not fill a carton of 20"],
      ['Withdrawn needs a reason; give --note "…"', "Withdrawn needs a reason"],
      ['A waiver is signed: give --words "…", who waives the test and why', "A waiver is signed: give the words, who waives the test and why"],
      ["19 discs were counted in K-000001-S, and the ledger has 20; count again, or enter a recount first", "19 discs were counted in K-000001-S, and the ledger has 20; count again, or enter a recount first"],
    ] as const)
      expect(without_commands(told)).toBe(shown);
  });
});

describe("keys and scans", () => {
  const read = (...keys: (string | number)[]) => {
    vi.useFakeTimers();
    const told: string[] = [];
    const reader = new KeyReader(
      (key) => told.push(`key ${key}`),
      (text) => told.push(`scan ${text}`),
    );
    for (const key of keys)
      if (typeof key === "number") vi.advanceTimersByTime(key);
      else reader.take(key, Date.now());
    vi.advanceTimersByTime(10 * wait_ms);
    vi.useRealTimers();
    return told;
  };
  it("a key by hand is a key, also twice", () => {
    expect(read("1", 120, "1", 90, "2", 400, "2")).toEqual(["key 1", "key 1", "key 2", "key 2"]);
  });
  it("a scan is one scan, and none of its characters a key", () => {
    expect(read(..."SP-001-I".split(""), "Enter")).toEqual(["scan SP-001-I"]);
    expect(read("Shift", "S", "Shift", "P", "-", "0", 5, "0", 5, "1", "-", "I", "Enter", 200, "3")).toEqual([
      "scan SP-001-I",
      "key 3",
    ]);
  });
  it("a burst that Enter does not end, or that is too short, does nothing", () => {
    expect(read("1", "2", "3", "4", "5")).toEqual([]);
    expect(read("1", "2", "Enter")).toEqual([]);
    expect(read("1", "Backspace")).toEqual([]);
  });
});

describe("one step in the flow", () => {
  const group = (kind: string, ...codes: string[]): FlowGroup => ({
    kind,
    count: codes.length,
    things: codes.map((code) => ({ code, words: "" })),
  });
  it("goes back to the nearest before, on to the first after, and nowhere at an end", () => {
    const before = [group("order", "O-0001-7"), group("mounting", "M-00001-X")];
    expect(one_step(before, "before")).toBe("/thing/M-00001-X");
    expect(one_step([group("run", "R-00001-9"), group("carton", "K-000001-S")], "after")).toBe("/run/R-00001-9");
    expect(one_step([], "after")).toBeNull();
  });
});

describe("the API file", () => {
  const paths = (JSON.parse(project_file("docs/api/openapi.json")) as { paths: Record<string, Record<string, unknown>> })
    .paths;
  const known = (address: string, method: string) => {
    const { pathname } = new URL(address, "http://works");
    const name = Object.keys(paths).find((one) => new RegExp(`^${one.replaceAll(/\{[^}]+\}/g, "[^/]+")}$`).test(pathname));
    return name !== undefined && method in (paths[name] as object);
  };
  it("names every address that these views ask and write", () => {
    const x = "x";
    for (const address of [
      ...[asked.kinds, asked.titles, asked.owed(x), asked.parts(x), asked.acts(x), asked.presses, asked.inspection],
      ...[asked.packing(x), asked.scan(x), asked.ledger, asked.movements(3, x), asked.check, asked.flow(x)],
      ...[asked.paper("traveller", x), asked.label(x)],
    ])
      expect(known(address, "get"), address).toBe(true);
    for (const [name, made] of Object.entries(written)) {
      const address = typeof made === "string" ? made : (made as (of: string | number) => string)(7);
      expect(known(address, "post"), name).toBe(true);
    }
  });
});
