import { describe, expect, it } from "vitest";
import type { Fault } from "../../src/contracts";
import { compare, csv_of } from "../../src/parts/Table";
import { ranges } from "../../src/parts/plot";
import { home_of, station_of_order } from "../../src/line/Line";
import { href, place_of } from "../../src/router";
import { show_value } from "../../src/subjects/fields";
import {
  chance,
  clock_ms,
  clock_s,
  count,
  degrees,
  fixed,
  instant,
  radius,
  signed,
  small_length,
  worst_first,
} from "../../src/units";

describe("figures", () => {
  it("carry a real minus, a thin space before the unit, and never say minus nothing", () => {
    expect(fixed(-0.04, 1)).toBe("0.0");
    expect(fixed(-7.25, 2)).toBe("−7.25");
    expect(signed(0.001, 2)).toBe("0.00");
    expect(signed(0.062, 2)).toBe("+0.06");
    expect(radius(0.0781, "metric")).toBe("78.1\u2009mm");
  });

  // The international inch is 25.4 mm exactly (1959 agreement).
  it("change to inches", () => {
    expect(radius(0.0762, "inch")).toBe("3.00\u2009in");
    expect(small_length(0.0000254, "inch")).toBe("1.0\u2009thou");
  });

  it("times and angles read as clocks and turns", () => {
    expect(clock_ms(40.2)).toBe("0:40.200");
    expect(clock_ms(59.9996)).toBe("1:00.000");
    expect(clock_s(222)).toBe("3:42");
    expect(clock_s(-3.2)).toBe("−0:03");
    expect(degrees(359.7)).toBe("0°");
    expect(degrees(-10)).toBe("350°");
    expect(chance(0.999)).toBe(">\u200999\u2009%");
    expect(count(1, "disc")).toBe("1 disc");
    expect(count(12345, "disc")).toBe("12\u202f345 discs");
  });

  // Summer time in the United Kingdom begins on the last Sunday of March at 01:00 UTC (Summer Time Order 2002).
  it("instants stand in the works' zone, over the change of the clocks", () => {
    expect(instant("2026-03-29T00:59:00Z", "Europe/London")).toBe("2026-03-29 00:59");
    expect(instant("2026-03-29T01:00:00Z", "Europe/London")).toBe("2026-03-29 02:00");
    expect(instant(Date.UTC(2026, 10, 25, 23, 30), "Asia/Tokyo")).toBe("2026-11-26 08:30");
    expect(instant(Date.UTC(2026, 10, 25, 0, 5), "nowhere/at all")).toBe("2026-11-25 00:05");
    expect(instant("no day", "UTC")).toBe("no day");
  });

  it("values of the record take their unit from the field's name", () => {
    expect(show_value("thickness_m", 0.000212, "UTC", "metric")).toBe("0.212\u2009mm");
    expect(show_value("temperature_K", 438.15, "UTC", "metric")).toBe("165.0\u2009°C");
    expect(show_value("at_ms", 0, "UTC", "metric")).toBe("1970-01-01 00:00");
    expect(show_value("note", null, "UTC", "metric")).toBe("–");
  });
});

describe("tables", () => {
  // RFC 4180, section 2: rules 5 to 7.
  it("are copied as CSV by the standard", () => {
    const rows = [
      { a: "x, y", b: 1.5 },
      { a: 'say "so"', b: null },
      { a: "two\nlines", b: -2 },
    ];
    const columns = [
      { head: "a", value: (row: (typeof rows)[0]) => row.a },
      { head: "b, dB", value: (row: (typeof rows)[0]) => row.b },
    ];
    expect(csv_of(columns, rows)).toBe('a,"b, dB"\r\n"x, y",1.5\r\n"say ""so""",\r\n"two\nlines",-2');
  });

  it("sort numbers as numbers, codes by their digits, and what is not known last", () => {
    expect([10, 9, null, 2].sort(compare)).toEqual([2, 9, 10, null]);
    expect(["P-10", "P-9"].sort(compare)).toEqual(["P-9", "P-10"]);
  });
});

describe("plots", () => {
  it("thin a curve without losing its extremes", () => {
    const x = Array.from({ length: 5000 }, (_, i) => i),
      y = x.map((i) => Math.sin(i / 7));
    y[3333] = 9;
    y[100] = -8;
    const thin = ranges(x, y, 200);
    expect(thin.length).toBeLessThanOrEqual(200);
    expect(Math.max(...thin.map((one) => one.most))).toBe(9);
    expect(Math.min(...thin.map((one) => one.least))).toBe(-8);
  });
});

describe("order and places", () => {
  const fault = (id: number, more: Partial<Fault>) =>
    ({ id, kind: "tick", audibility: "plain", peak_dB: -10, capture_s: id, ...more }) as Fault;
  it("worst first: what leaves the groove, then plain before slight, then loud before quiet", () => {
    const faults = [
      fault(1, { audibility: "slight", peak_dB: -1 }),
      fault(2, {}),
      fault(3, { peak_dB: -5 }),
      fault(4, { kind: "jump", audibility: "slight" }),
    ];
    expect(worst_first(faults).map((i) => (faults[i] as Fault).id)).toEqual([4, 3, 2, 1]);
  });

  it("addresses hold any code and come back as they were", () => {
    const to = href("disc", "R/1 ä", 7);
    expect(place_of({ pathname: to, search: "?fault=3" })).toMatchObject({ path: ["disc", "R/1 ä", "7"] });
    expect(place_of({ pathname: "/%zz", search: "" }).path).toEqual(["%zz"]);
  });

  it("an order stands at the first station that still has something to do for it", () => {
    const counts = {
      pressed: 0,
      edge_finished: 0,
      in_sample: 0,
      good_stock: 0,
      suspect: 0,
      packed: 0,
      shipped: 0,
      scrap: 0,
      unaccounted: 0,
    };
    const order = (more: object) =>
      station_of_order({
        impressions: 310,
        quantity: 300,
        done: 300,
        counts,
        heard: { waiting: 0, good: 2, bad: 0 },
        ...more,
      } as Parameters<typeof station_of_order>[0]);
    expect(order({ impressions: 0, done: 0 })).toBe("metal");
    expect(order({ done: 200 })).toBe("press");
    expect(order({ done: 200, heard: { waiting: 1, good: 0, bad: 0 } })).toBe("bench");
    expect(order({ counts: { ...counts, good_stock: 300 } })).toBe("store");
    expect(order({ counts: { ...counts, packed: 300 } })).toBe("dispatch");
  });

  it("whatever is found has a page", () => {
    expect(home_of({ kind: "part", code: "P-00004-K", label: "", detail: "" })).toBe("/part/P-00004-K");
    expect(home_of({ kind: "carton", code: "K-000001-S", label: "", detail: "" })).toBe("/thing/K-000001-S");
  });
});
