import type { UnitSystem } from "../units";
import { celsius, fixed, length, mass, number, time } from "./amounts";
import type { Calculated, Field, Shown, ShownTable, View } from "./describe";

/** The figures of a press that are set most; the rest of the hundred by name. */
const set = (
  name: string,
  label: string,
  units: readonly string[],
  size: number,
  more?: string,
  help?: string,
): Field => ({
  name,
  label,
  kind: "quantity",
  units,
  figure_of: "set",
  now: ({ result }) => {
    const value: unknown = result.inputs?.[name];
    if (typeof value !== "number") return "";
    return String(Number((units[0] === "°C" ? value - 273.15 : value / size).toPrecision(5)));
  },
  ...(more ? { more } : {}),
  ...(help ? { help } : {}),
});

function cycled({ result: all }: Calculated, system: UnitSystem): Shown {
  const r = all.result,
    around = all.within_95 ?? {};
  const give = (value: number | undefined) => (value === undefined ? "" : ` ± ${fixed(value, 0)}`);
  const figures: [string, string][] = [
    ["Cycle", time(r.period_s)],
    ["Discs an hour", number(r.discs_per_hour, 0)],
    ["Filled after", `${time(r.full_s)}${around.full_s ? ` ± ${fixed(around.full_s, 1)}` : ""}`],
    ["All set after", `${time(r.set_s)}${around.set_s ? ` ± ${fixed(around.set_s, 1)}` : ""}`],
    ["Coldest place that must flow", `${celsius(r.least_flow_K)}${give(around.least_flow_K)}, ${r.coldest_place}`],
    ["Hottest place", `${celsius(r.peak_K)}${give(around.peak_K)}, ${r.hottest_place}`],
    ["Hottest at opening", `${celsius(r.opening_hottest_K)}${give(around.opening_hottest_K)}`],
    ["Thickness, radius", `${length(r.final_gap_m, system)}, ${length(r.final_radius_m, system)}`],
    ["Flash", mass(r.flash_mass_kg)],
    ["Takes a disc", `${mass(r.steam_kg)} steam, ${mass(r.water_kg)} water, ${number(r.energy_J / 1e6, 2, "MJ")}`],
    ["Fitted to this press", all.calibrated ? "yes" : "no: for comparing one setting with another only"],
  ];
  const times: ShownTable = {
    caption: "The cycle, counted from the press being open",
    heads: [{ head: "What" }, { head: "At, s", figure: true }],
    rows: (
      [
        ["steam on", "steam_on_s"],
        ["closes", "close_s"],
        ["steam off", "steam_off_s"],
        ["water on", "water_on_s"],
        ["water off", "water_off_s"],
        ["opens", "open_s"],
      ] as const
    ).map(([what, key]) => [what, fixed(r.schedule[key], 1)]),
  };
  const moments: ShownTable = {
    caption: "Temperatures over the cycle",
    heads: ["Time, s", "Face A, °C", "Face B, °C", "Middle, °C"].map((head) => ({ head, figure: true })),
    rows: (all.moments ?? []).map((one: { time_s: number; face_K: number[]; middle_K: number | null }) => [
      fixed(one.time_s, 2),
      fixed((one.face_K[0] ?? 0) - 273.15, 1),
      fixed((one.face_K[1] ?? 0) - 273.15, 1),
      one.middle_K === null ? null : fixed(one.middle_K - 273.15, 1),
    ]),
  };
  const window: ShownTable | null = all.window
    ? {
        caption: `What works over ${all.window.x} and ${all.window.y}`,
        heads: [
          { head: all.window.x, figure: true },
          { head: all.window.y, figure: true },
          { head: "Stands" },
          { head: "Cycle, s", figure: true },
        ],
        rows: all.window.points.map((one: { x: number; y: number; standing: string; period_s: number }) => [
          number(one.x, one.x < 1000 ? 2 : 0),
          number(one.y, one.y < 1000 ? 2 : 0),
          one.standing,
          one.period_s === null ? null : fixed(one.period_s, 1),
        ]),
      }
    : null;
  return {
    figures,
    tables: [times],
    numbers: { picture: moments, ...(window ? { "window-picture": window } : {}) },
    remarks: all.remarks ?? [],
  };
}

export const cycle: View = {
  title: "Press cycle",
  what: "Heat and flow of one cycle: whether it fills and sets, the shortest that works, and how far a setting may wander.",
  questions: [
    {
      calculation: "cycle",
      words: "Cycle",
      act: "Calculate the cycle",
      at_once: true,
      show: cycled,
      log: {
        to: "recipe",
        act: "Log this cycle as a recipe",
        help: "Under a name that you give; runs and pressings take its code.",
      },
      fields: [
        {
          name: "compound",
          label: "Compound",
          kind: "choice",
          start: "",
          choices: [
            ["", "vinyl, or the press file's"],
            ["vinyl", "vinyl"],
            ["shellac", "shellac type"],
          ],
        },
        set(
          "steam",
          "Steam, by the gauge",
          ["bar", "psi"],
          1e5,
          undefined,
          "Empty figures stay as the press has them.",
        ),
        set("steam_time", "Steam stays on", ["s"], 1),
        set("water_time", "Water stays on", ["s"], 1),
        set("mass", "Biscuit", ["g", "oz"], 1e-3),
        { name: "best", label: "Find the shortest cycle that keeps every limit", kind: "yes" },
        {
          name: "window",
          label: "Map what works",
          kind: "choice",
          start: "",
          choices: [
            ["", "no map"],
            ["steam,water_time", "over steam and water time"],
            ["steam_time,water_time", "over steam time and water time"],
            ["biscuit_temperature,steam", "over biscuit's heat and steam"],
          ],
          help: "Some seconds of calculation.",
        },
        {
          name: "press",
          label: "Press",
          kind: "file",
          endings: ["toml"],
          folder: "presses",
          more: "Press",
          drop_words: "A press and its cycle, as goodside cycle --save writes it",
        },
        set("steam_lead", "Steam on ahead", ["s"], 1, "Press"),
        set("drain_time", "Steam off to water on", ["s"], 1, "Press"),
        set("rest_time", "Water off to opening", ["s"], 1, "Press"),
        set("open_time", "Open", ["s"], 1, "Press"),
        set("water", "Water comes in at", ["°C", "°F"], 1, "Press"),
        set("water_flow", "Water a side", ["kg/s", "l/min"], 1, "Press"),
        set("force", "Force", ["kN", "t"], 1e3, "Press"),
        set("thickness", "Disc's thickness", ["mm", "in"], 1e-3, "Press"),
        set("diameter", "Disc's diameter", ["mm", "in"], 1e-3, "Press"),
        set("biscuit_temperature", "Biscuit's temperature", ["°C", "°F"], 1, "Press"),
        {
          name: "set",
          label: "Any other figure",
          kind: "pairs",
          left: "Name",
          right: "Value",
          example: ["cover", "5 mm"],
          more: "Press",
          known: ({ result }) => Object.keys(result.inputs ?? {}),
        },
        { name: "no-reserve", label: "The shortest without room for tolerances", kind: "yes", more: "Search" },
        { name: "points", label: "Points of the map, each way", kind: "text", start: "9", more: "Search" },
        { name: "monte-carlo", label: "Draws over the tolerances", kind: "text", example: "1000", more: "Search" },
        {
          name: "fit",
          label: "Fit heat to thermocouples",
          kind: "file",
          endings: ["csv"],
          more: "Fit to this press",
          drop_words: "time_s, a_face, a_3mm, middle …",
        },
        {
          name: "ladder",
          label: "Fit flow to short charges",
          kind: "file",
          endings: ["csv"],
          more: "Fit to this press",
          drop_words: "mass_g, diameter_mm, thickness_mm",
        },
      ],
    },
  ],
};
