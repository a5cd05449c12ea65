import { describe, expect, it } from "vitest";
import { page_of_code, state_of } from "../../src/stations/Answer";
import { fixed, length, mass, number, odds, on_clock, share, time } from "../../src/stations/amounts";
import { chart, sampling } from "../../src/stations/bench";
import { biscuit, mix } from "../../src/stations/compound";
import {
  begin,
  type Calculated,
  is_told,
  next_of,
  options_of,
  type Question,
  refusal_of,
  shown_of,
} from "../../src/stations/describe";
import { back, centre, plate } from "../../src/stations/metal";
import { station_of_path, station_order, views } from "../../src/stations/places";
import { need, plan } from "../../src/stations/planning";
import { cycle } from "../../src/stations/press";
import { project_file } from "./files";

const all = { plate, back, centre, mix, biscuit, cycle, sampling, chart, plan, need };
const [plating] = plate.questions as [Question];
const [reading] = centre.questions as [Question];
const [cycling] = cycle.questions as [Question];
const [planning] = plan.questions as [Question];

const answer = (by: Partial<Calculated>): Calculated => ({
  name: "plate",
  within: true,
  headline: "● Well",
  cautions: [],
  next: null,
  words: "",
  result: {},
  pictures: [],
  entry: null,
  ...by,
});

describe("a form", () => {
  it("sends what it begins with, and nothing that is empty", () => {
    expect(options_of(plating, begin(plating, "metric"))).toEqual({
      target: "250 um",
      start: "silvered",
      metal: "nickel",
    });
    expect(options_of(plating, begin(plating, "inch")).target).toBe("10 mil");
  });

  it("takes a decimal comma and a typed minus, and leaves out what is not shown", () => {
    const values = { ...begin(plating, "metric"), target: "0,25 mm", stress: "−5 MPa", shield: "best" };
    expect(options_of(plating, values)).toMatchObject({ target: "0.25 mm", stress: "-5 MPa" });
    expect(options_of(plating, values)).not.toHaveProperty("shield"); // it is asked with the spread alone
    expect(options_of(plating, { ...values, spread: true })).toMatchObject({ spread: true, shield: "best" });
  });

  it("gives bare readings the unit of the day, and keeps one that is typed", () => {
    const values = { ...begin(reading, "metric"), readings: ["0=38", "60=-4,5", "120=2 mm", "180=", "=5"] };
    expect(options_of(reading, values).readings).toEqual(["0=38 um", "60=-4.5 um", "120=2 mm"]);
    expect(options_of(reading, values, "inch").readings).toEqual(["0=38 mil", "60=-4.5 mil", "120=2 mm"]);
  });

  it("gathers figures of a press under the one option that takes them", () => {
    const values = { ...begin(cycling, "metric"), steam: "8 bar", water_time: "14 s", set: ["cover=5 mm"] };
    expect(options_of(cycling, values).set).toEqual(["steam=8 bar", "water_time=14 s", "cover=5 mm"]);
  });

  it("is filled in by an address", () => {
    expect(begin(plating, "metric", { part: "P-00007-K", target: "400 um" })).toMatchObject({
      part: "P-00007-K",
      target: "400 um",
    });
  });

  it("leaves to the record what it knows of a part", () => {
    const values = begin(plating, "metric", { part: "P-00007-K" });
    expect(options_of(plating, values)).not.toHaveProperty("start");
    expect(options_of(reading, { ...begin(reading, "metric"), part: "P-00007-K" })).not.toHaveProperty("format");
  });

  it("counts what is told beyond what it begins with", () => {
    const values = begin(plating, "metric"),
      field = (name: string) => plating.fields.find((one) => one.name === name) as Question["fields"][number];
    expect(is_told(field("metal"), values)).toBe(false);
    expect(is_told(field("metal"), { ...values, metal: "copper" })).toBe(true);
    expect(is_told(field("current"), values)).toBe(false);
  });

  it("names each field once, and only what the server takes", () => {
    const table = project_file("src/serve/calculation_table.cpp");
    const server = project_file("docs/api/openapi.json");
    expect(server).toContain("/api/calculations/{name}/log");
    for (const view of Object.values(all))
      for (const question of view.questions) {
        const names = question.fields.map((one) => one.name);
        expect(new Set(names).size, question.words).toBe(names.length);
        expect(table).toContain(`.name = "${question.calculation}"`);
        for (const field of question.fields)
          if (!field.figure_of) expect(table, `${question.calculation} ${field.name}`).toContain(`{"${field.name}"`);
        expect(question.fields.filter((one) => !one.more).length, question.words).toBeLessThanOrEqual(8);
      }
  });
});

describe("an answer", () => {
  it("tells its state by the command's own mark, else by its exit", () => {
    expect(state_of(answer({ headline: "▲ 1 out of tolerance: add 1 kg  Tarnholt black" }))).toEqual({
      state: "out",
      words: "1 out of tolerance: add 1 kg — Tarnholt black",
    });
    expect(state_of(answer({ headline: "○ Hear 18 more", within: false })).state).toBe("unknown");
    expect(state_of(answer({ headline: "all 4 orders on time" }))).toEqual({
      state: "good",
      words: "All 4 orders on time",
    });
    expect(state_of(answer({ headline: "2 orders late", within: false })).state).toBe("out");
  });

  it("says what to do next in the page's words", () => {
    expect(next_of(cycling, answer({ next: "log thermocouples and fit them: --fit LOG.csv." }))).toBe(
      "log thermocouples and fit them: “Fit heat to thermocouples”",
    );
    expect(next_of(planning, answer({ next: "`plan promise` says how sure these dates are" }))).toBe(
      "“The date to promise” says how sure these dates are",
    );
  });

  it("a refusal is told at its field, by its label", () => {
    expect(refusal_of(plating, '--target: "x um" is no length')).toEqual({
      field: "target",
      words: '“Thickness wanted”: "x um" is no length',
    });
    expect(refusal_of(plating, "The server does not answer.").field).toBeNull();
  });

  it("leads to what it names by the record's own codes", () => {
    expect(page_of_code("R-00003-5")).toBe("/run/R-00003-5");
    expect(page_of_code("T-1")).toBeNull();
    expect(page_of_code("O-1 run")).toBeNull();
  });

  it("of a kind that nobody described falls back on the command's words", () => {
    expect(shown_of(plating, answer({ result: null }), "metric")).toEqual({ figures: [], strange: true });
  });
});

describe("amounts", () => {
  it("keep their size's unit, in either system", () => {
    expect(length(250e-6, "metric")).toBe("250.0\u2009µm");
    expect(length(254e-6, "inch")).toBe("10.00\u2009thou");
    expect(length(1.9e-3, "metric")).toBe("1.90\u2009mm");
    expect(length(0.1505, "metric")).toBe("150.5\u2009mm");
    expect(length(0.0254, "inch")).toBe("1.000\u2009in");
    expect([24.3, 600, 19260, 1097280].map(time)).toEqual([
      "24.3\u2009s",
      "10.0\u2009min",
      "5.35\u2009h",
      "12.7\u2009d",
    ]);
    expect([mass(8.04e-5), mass(0.192), mass(60)]).toEqual(["80.4\u2009mg", "192.0\u2009g", "60.00\u2009kg"]);
    expect([share(0.0173), share(0.81), share(3.06e-5)]).toEqual(["1.73\u2009%", "81.0\u2009%", "0.0031\u2009%"]);
    expect([odds(3.05e-5), odds(4e-11), odds(0.2)]).toEqual([
      "1 in 33\u202f000",
      "fewer than 1 in a million",
      "20.0\u2009%",
    ]);
    expect(number(-12345.6, 1, "J")).toBe("−12\u202f345.6\u2009J");
    expect([fixed(null, 1), length(undefined, "metric"), mass(null)]).toEqual(["–", "–", "–"]);
  });

  it("a clock of its own is read as it stands", () => {
    // 2026-11-26 06:00 is 20783 days and six hours after 1970-01-01 (Python: datetime.date.toordinal).
    expect(on_clock(20783 * 86400 + 6 * 3600)).toBe("2026-11-26 06:00");
  });
});

describe("the row of views", () => {
  it("has every calculation, at a station of the line or of the whole works", () => {
    for (const name of Object.keys(all)) expect(station_of_path(`/calculate/${name}`), name).not.toBeNull();
    for (const view of views) expect(["works", ...station_order]).toContain(view.station);
    expect(new Set(views.map((view) => view.path)).size).toBe(views.length);
  });
});
