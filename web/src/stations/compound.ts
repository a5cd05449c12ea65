import type { UnitSystem } from "../units";
import { celsius, fixed, mass, number, odds, share, time } from "./amounts";
import type { Calculated, Shown, ShownTable, View } from "./describe";
import { SaidByTheScale } from "./SaidByTheScale";

function mixed({ result: r }: Calculated): Shown {
  const up = r.weigh_up;
  const figures: [string, string][] = [];
  if (up)
    figures.push(
      ["Charge", `${mass(up.batch_kg)}${up.batches > 1 ? `, ${up.batches} times` : ""}`],
      ["Volume", `${number(up.volume_m3 * 1e3, 1, "l")}${up.fill ? `, ${share(up.fill)} of the bowl` : ""}`],
    );
  figures.push(
    ["Density without voids", number(r.mixture.density_kg_per_m3 / 1e3, 3, "g/cm³")],
    ["Binder", `${share(r.mixture.binder_mass)} by mass, ${share(r.mixture.binder_volume)} by volume`],
  );
  const fix = r.correction;
  if (fix?.add_kg)
    figures.push(
      ["To put it right, add", number(fix.add_kg, 3, "kg")],
      ["Then", `${mass(fix.batch_kg)} in all, the worst ingredient ${fixed(fix.worst_share, 2)} tolerances off`],
    );
  if (r.heat)
    figures.push([
      "Mixing",
      `${time(r.heat.time_s)} to ${celsius(r.heat.to_K)}, ${number(r.heat.energy_J / 3.6e6, 2, "kW·h")}`,
    ]);
  const tables: ShownTable[] = [];
  if (fix?.add_kg)
    tables.push({
      caption: "The least addition that puts it right",
      heads: [
        { head: "Ingredient" },
        { head: "Add, kg", figure: true },
        { head: "Then", figure: true },
        { head: "Tolerances off", figure: true },
      ],
      rows: fix.lines.map(
        (one: { ingredient: string; add_weighed_kg: number; final_fraction: number; share_of_tolerance: number }) => [
          one.ingredient,
          fixed(one.add_weighed_kg, 3),
          share(one.final_fraction),
          fixed(one.share_of_tolerance, 2),
        ],
      ),
    });
  if (r.deviations?.length > 0)
    tables.push({
      caption: "What the scale said",
      heads: [
        { head: "Ingredient" },
        { head: "Asked, kg", figure: true },
        { head: "Said, kg", figure: true },
        { head: "Off, g", figure: true },
        { head: "Tolerances", figure: true },
        { head: "Stands" },
      ],
      rows: r.deviations.map(
        (one: {
          ingredient: string;
          target_kg: number;
          weighed_kg: number;
          off_kg: number;
          share_of_tolerance: number;
          is_out: boolean;
        }) => [
          one.ingredient,
          fixed(one.target_kg, 3),
          fixed(one.weighed_kg, 3),
          one.weighed_kg === null ? "–" : fixed(one.off_kg * 1e3, 1),
          fixed(one.share_of_tolerance, 2),
          one.weighed_kg === null ? "not weighed yet" : one.is_out ? "out of tolerance" : "within",
        ],
      ),
    });
  return { figures, tables, remarks: [...(r.remarks ?? []), ...(fix?.why ?? [])] };
}

export const mix: View = {
  title: "Weigh up and mix",
  what: "What to weigh in, what the scale said, and how to put a wrong batch right.",
  questions: [
    {
      calculation: "mix",
      words: "Weigh up",
      act: "Calculate the weigh-up",
      show: mixed,
      next_words: [[/with --weighed FILE/, "in the table"]],
      After: SaidByTheScale,
      log: {
        to: "batch",
        field: "batch",
        optional: true,
        act: "Log what was weighed",
        help: "Empty: a new batch. A batch named: these are additions to it.",
      },
      fields: [
        {
          name: "recipe",
          label: "Recipe",
          kind: "file",
          endings: ["toml", "csv"],
          folder: "recipes",
          drop_words: "Ingredients with role, fraction and density",
        },
        {
          name: "mass",
          label: "One charge, dry",
          kind: "quantity",
          units: ["kg", "lb"],
          help: "Empty: what the bowl takes.",
        },
        {
          name: "batch",
          label: "Batch",
          kind: "text",
          example: "B-0007-M",
          help: "What is weighed into it already counts.",
        },
        { name: "regrind", label: "Own regrind", kind: "quantity", units: ["%"], more: "Mixing" },
        { name: "bowl", label: "Mixer's free volume", kind: "quantity", units: ["l"], more: "Mixing" },
        { name: "fill", label: "Share of it that is filled", kind: "quantity", units: ["%"], more: "Mixing" },
        { name: "power", label: "Drive", kind: "quantity", units: ["kW"], more: "Mixing" },
        { name: "start", label: "Goes in at", kind: "quantity", units: ["°C", "°F"], more: "Mixing" },
        { name: "dump", label: "Dumped at", kind: "quantity", units: ["°C", "°F"], more: "Mixing" },
        {
          name: "purge",
          label: "Old colour left",
          kind: "quantity",
          units: ["%"],
          more: "Mixing",
          help: "Change of colour: so much may be left.",
        },
        { name: "scale", label: "The scale's division", kind: "quantity", units: ["g", "kg", "oz"], more: "Scale" },
        {
          name: "aim",
          label: "A correction ends within",
          kind: "text",
          example: "1",
          more: "Scale",
          help: "This share of each tolerance.",
        },
        { name: "cheapest", label: "Find the cheapest recipe within the bounds", kind: "yes", more: "Stock and price" },
        { name: "for", label: "Stock must reach for", kind: "quantity", units: ["kg", "t"], more: "Stock and price" },
        {
          name: "stock",
          label: "What is left",
          kind: "pairs",
          left: "Ingredient",
          right: "Mass",
          example: ["shellac", "20 kg"],
          more: "Stock and price",
          known: ingredients,
        },
        {
          name: "price",
          label: "Price a kilogram",
          kind: "pairs",
          left: "Ingredient",
          right: "Price",
          example: ["shellac", "9.5"],
          more: "Stock and price",
          known: ingredients,
        },
        {
          name: "said",
          label: "The scale said",
          kind: "pairs",
          left: "Ingredient",
          right: "Mass",
          example: ["shellac", "8.35 kg"],
          more: "Scale",
          known: ingredients,
        },
      ],
    },
  ],
};

function ingredients({ result }: Calculated): string[] {
  return (result.recipe?.ingredients ?? []).map((one: { name: string }) => one.name);
}

function cut({ result: r }: Calculated, _system: UnitSystem): Shown {
  const figures: [string, string][] = [
    ["Disc", mass(r.disc.disc_kg)],
    ["Biscuit", `${mass(r.biscuit.biscuit_kg)} with ${share(r.biscuit.flash)} flash`],
    ["Short fill below", mass(r.biscuit.short_below_kg)],
    ["Too thick above", mass(r.biscuit.thick_above_kg)],
  ];
  if (r.aim_kg) figures.push(["Aim at", mass(r.aim_kg)]);
  if (r.aimed)
    figures.push(
      ["Short fill, at that aim", odds(r.aimed.short_chance)],
      ["Too thick, at that aim", odds(r.aimed.thick_chance)],
      ["Flash a disc, at that aim", mass(r.aimed.flash_kg)],
    );
  if (r.now)
    figures.push(
      [
        "As cut now",
        `mean ${mass(r.now.mean_kg)}, sigma ${mass(r.now.sigma_kg)}${r.now.count ? `, ${r.now.count} biscuits` : ""}`,
      ],
      ["Short fill, as cut now", odds(r.now.short_chance)],
      ["Too thick, as cut now", odds(r.now.thick_chance)],
    );
  if (r.widest_sigma_kg) figures.push(["Widest scatter that fits", mass(r.widest_sigma_kg)]);
  figures.push(["Regrind from flash and scrap", share(r.regrind_share)]);
  return { figures, remarks: r.remarks ?? [] };
}

export const biscuit: View = {
  title: "Biscuit",
  what: "What a biscuit must weigh, how it is cut, and whether the cutting holds it.",
  questions: [
    {
      calculation: "biscuit",
      words: "Biscuit",
      act: "Calculate the biscuit",
      at_once: true,
      show: cut,
      log: {
        to: "batch",
        act: "Log the biscuits weighed",
        help: "Count, mean, scatter and aim are entered to the batch.",
      },
      fields: [
        {
          name: "density",
          label: "Density, cold",
          kind: "quantity",
          units: ["g/cm3", "kg/m3"],
          start: "1.38 g/cm3",
          help: "Of the compound: some 1.38 vinyl, 1.9 to 2.1 shellac type.",
        },
        {
          name: "diameter",
          label: "Disc's diameter",
          kind: "quantity",
          units: ["mm", "in"],
          start: "301 mm",
          start_inch: "11.85 in",
        },
        {
          name: "thickness",
          label: "Thickness of the groove area",
          kind: "quantity",
          units: ["mm", "in"],
          start: "1.9 mm",
          start_inch: "0.075 in",
        },
        { name: "sigma", label: "Scatter of the biscuits", kind: "quantity", units: ["g", "oz"], start: "1.5 g" },
        {
          name: "weighed",
          label: "Or biscuits as weighed",
          kind: "file",
          endings: ["csv"],
          drop_words: "A table with the column mass_g",
        },
        {
          name: "recipe",
          label: "Recipe instead of the density",
          kind: "file",
          endings: ["toml", "csv"],
          folder: "recipes",
          more: "Disc",
          drop_words: "The compound's recipe",
        },
        {
          name: "label-diameter",
          label: "Raised label, diameter",
          kind: "quantity",
          units: ["mm", "in"],
          more: "Disc",
        },
        {
          name: "label-thickness",
          label: "Raised label, thickness",
          kind: "quantity",
          units: ["mm", "in"],
          more: "Disc",
        },
        { name: "rim-width", label: "Raised rim, width", kind: "quantity", units: ["mm", "in"], more: "Disc" },
        { name: "rim-thickness", label: "Raised rim, thickness", kind: "quantity", units: ["mm", "in"], more: "Disc" },
        {
          name: "profile",
          label: "Or its profile",
          kind: "file",
          endings: ["csv"],
          more: "Disc",
          drop_words: "Columns radius and thickness, hole to edge",
        },
        { name: "shrinkage", label: "Shrinks by", kind: "quantity", units: ["%"], more: "Disc" },
        { name: "of-mould", label: "The shape is the hot mould's", kind: "yes", more: "Disc" },
        { name: "flash", label: "Flash aimed at", kind: "quantity", units: ["%"], more: "Limits" },
        { name: "least-flash", label: "Least flash", kind: "quantity", units: ["%"], more: "Limits" },
        { name: "most-flash", label: "Most flash", kind: "quantity", units: ["%"], more: "Limits" },
        { name: "short", label: "May fall short", kind: "quantity", units: ["%"], more: "Limits" },
        { name: "thick", label: "May come out too thick", kind: "quantity", units: ["%"], more: "Limits" },
        { name: "scrap", label: "Discs that go back to the mill", kind: "quantity", units: ["%"], more: "Limits" },
        { name: "sheet", label: "Sheet's thickness", kind: "quantity", units: ["mm", "in"], more: "Cutting" },
        { name: "sheet-sigma", label: "Its scatter", kind: "quantity", units: ["mm", "mil"], more: "Cutting" },
        { name: "sheet-width", label: "Sheet's width", kind: "quantity", units: ["mm", "in"], more: "Cutting" },
        { name: "knives", label: "Knives' distance", kind: "quantity", units: ["mm", "in"], more: "Cutting" },
        { name: "knives-sigma", label: "Its scatter", kind: "quantity", units: ["mm", "mil"], more: "Cutting" },
        { name: "puck", label: "Puck's diameter", kind: "quantity", units: ["mm", "in"], more: "Cutting" },
        { name: "scale", label: "The scale's division", kind: "quantity", units: ["g"], more: "Cutting" },
      ],
    },
  ],
};
