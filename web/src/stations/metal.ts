import type { UnitSystem } from "../units";
import { celsius, fixed, length, mass, number, share, time } from "./amounts";
import type { Calculated, Shown, ShownTable, View } from "./describe";

const formats = [
  ["12in-33", "12-inch, 33⅓"],
  ["10in-78", "10-inch, 78"],
  ["7in-45", "7-inch, 45"],
] as const;
/** What the record says of a part goes before what a form begins with. */
const without_part = (values: Record<string, unknown>) => String(values.part ?? "").trim() === "";
const part_help = "Of the record; its face, format and base metal are taken from there.";

function plated({ result: r }: Calculated, system: UnitSystem): Shown {
  const last = r.stages?.at(-1);
  const figures: [string, string][] = [
    ["Time", time(r.time_s)],
    ["Current at the end", last ? number(last.to_A, 1, "A") : "–"],
    ["Charge", number(r.charge_C / 3600, 1, "A·h")],
    ["Metal laid", mass(r.mass_kg)],
    ["Mean thickness", length(r.mean_thickness_m, system)],
  ];
  const band = r.spread?.band;
  if (band) {
    figures.push(
      ["Groove band lies within", `±${share(band.evenness)}`],
      ["Thinnest of the band", `${length(band.least_m, system)} at ${length(band.least_radius_m, system)}`],
      ["Thickest of the band", `${length(band.most_m, system)} at ${length(band.most_radius_m, system)}`],
      ["Voltage", number(r.spread.voltage_V, 1, "V")],
    );
    if (r.before?.band) figures.push(["Without the shield", `±${share(r.before.band.evenness)}`]);
    const shield = r.spread.cell?.shield;
    if (shield)
      figures.push([
        "Shield",
        `opening ${length(2 * shield.opening_radius_m, system)}, ${length(shield.distance_m, system)} from the disc`,
      ]);
  }
  if (r.stress)
    figures.push(
      ["Stress", number(r.stress.stress_Pa / 1e6, 1, "MPa")],
      ["Bow, middle to edge", length(r.stress.bow_m, system)],
    );
  if (r.upkeep) figures.push(["Hydrogen, at most", number(r.upkeep.hydrogen_m3 * 1e3, 1, "l")]);
  const stages: ShownTable = {
    caption: "Stages of the current",
    heads: [{ head: "From, A", figure: true }, { head: "To, A", figure: true }, { head: "For" }],
    rows: (r.stages ?? []).map((one: { from_A: number; to_A: number; time_s: number }) => [
      fixed(one.from_A, 2),
      fixed(one.to_A, 2),
      time(one.time_s),
    ]),
  };
  const used: ShownTable = {
    caption: "To add to the bath",
    heads: [{ head: "What" }, { head: "Mass", figure: true }],
    rows: (r.upkeep?.used ?? []).map((one: { what: string; mass_kg: number }) => [one.what, mass(one.mass_kg)]),
  };
  const along: ShownTable = {
    caption: "Thickness along the radius",
    heads: [
      { head: "Radius, mm", figure: true },
      { head: "Thickness, µm", figure: true },
    ],
    rows: (r.spread?.radius_m ?? []).map((radius_m: number, i: number) => [
      fixed(radius_m * 1e3, 2),
      fixed(r.spread.thickness_m[i] * 1e6, 2),
    ]),
  };
  return {
    figures,
    tables: [stages, ...(used.rows.length > 0 ? [used] : [])],
    remarks: [...(r.warnings ?? []), ...(r.stress?.bow_word ? [r.stress.bow_word] : []), r.metal?.source].filter(
      Boolean,
    ),
    numbers: r.spread ? { picture: along } : {},
  };
}

const with_cell = (values: Record<string, unknown>) => values.spread === true;

export const plate: View = {
  title: "Plate",
  what: "How long a part stays in the tank, how much metal it takes, and how evenly it lies.",
  questions: [
    {
      calculation: "plate",
      words: "Plate",
      act: "Calculate the run",
      at_once: true,
      show: plated,
      log: {
        to: "part",
        field: "part",
        act: "Log this run to the part",
        help: "The run becomes the part's step, with its figures.",
      },
      fields: [
        {
          name: "target",
          label: "Thickness wanted",
          kind: "quantity",
          units: ["um", "mm", "mil"],
          start: "250 um",
          start_inch: "10 mil",
          help: "With the spread, at the thinnest place of the groove band.",
        },
        {
          name: "start",
          label: "The face is",
          kind: "choice",
          when: without_part,
          start: "silvered",
          choices: [
            ["silvered", "silvered"],
            ["passivated", "passivated metal"],
            ["bare", "bare metal"],
          ],
          help: "A silvered or passivated face begins gently.",
        },
        {
          name: "spread",
          label: "Calculate how evenly it lies",
          kind: "yes",
          start: false,
          help: "In a cell of usual proportions, or the one given under More.",
        },
        {
          name: "shield",
          label: "Shield",
          kind: "choice",
          when: with_cell,
          choices: [
            ["", "none"],
            ["best", "find the best"],
          ],
        },
        { name: "part", label: "Part", kind: "text", example: "P-00012-K", help: part_help },
        {
          name: "metal",
          label: "Metal",
          kind: "choice",
          more: "Metal and current",
          start: "nickel",
          choices: ["nickel", "copper", "chromium", "nickel-flash", "chromium-flash"].map((one) => [one, one] as const),
        },
        {
          name: "current-density",
          label: "Current density",
          kind: "quantity",
          units: ["A/dm2", "A/ft2"],
          more: "Metal and current",
          help: "Without it the metal's usual one.",
        },
        { name: "current", label: "Or full current", kind: "quantity", units: ["A"], more: "Metal and current" },
        {
          name: "time",
          label: "Whole run lasts",
          kind: "quantity",
          units: ["h", "min"],
          more: "Metal and current",
          help: "Instead of a thickness.",
        },
        {
          name: "ramp",
          label: "Your own stages",
          kind: "text",
          wide: true,
          more: "Metal and current",
          example: "0.3 A/dm2 for 85 min, to 6 A/dm2 over 1 h, 6 A/dm2 for 3 h",
        },
        {
          name: "efficiency",
          label: "Cathode efficiency",
          kind: "quantity",
          units: ["%"],
          more: "Metal and current",
          help: "Weigh a part to know yours.",
        },
        { name: "diameter", label: "Disc plated, diameter", kind: "quantity", units: ["mm", "in"], more: "The cell" },
        {
          name: "cell",
          label: "A cell of the works",
          kind: "text",
          more: "The cell",
          example: "tank-1",
          when: with_cell,
        },
        {
          name: "cell-radius",
          label: "Radius of the cell",
          kind: "quantity",
          units: ["mm", "in"],
          more: "The cell",
          when: with_cell,
        },
        {
          name: "level",
          label: "Bath above the face",
          kind: "quantity",
          units: ["mm", "in"],
          more: "The cell",
          when: with_cell,
        },
        {
          name: "anode-distance",
          label: "Face to anode",
          kind: "quantity",
          units: ["mm", "in"],
          more: "The cell",
          when: with_cell,
        },
        {
          name: "anode-radius",
          label: "Radius of the anode",
          kind: "quantity",
          units: ["mm", "in"],
          more: "The cell",
          when: with_cell,
        },
        {
          name: "holder-radius",
          label: "Radius of the holder",
          kind: "quantity",
          units: ["mm", "in"],
          more: "The cell",
          when: with_cell,
        },
        {
          name: "conductivity",
          label: "Conductivity of the bath",
          kind: "quantity",
          units: ["S/m", "mS/cm"],
          more: "The cell",
          when: with_cell,
        },
        {
          name: "within",
          label: "Even enough is",
          kind: "quantity",
          units: ["%"],
          more: "The cell",
          when: with_cell,
          help: "Half the difference over half the sum.",
        },
        {
          name: "format",
          label: "Groove band of",
          kind: "choice",
          more: "The cell",
          choices: [["", "the disc's size"], ...formats],
        },
        {
          name: "stress",
          label: "Stress in the deposit",
          kind: "quantity",
          units: ["MPa"],
          more: "Stress",
          help: "Tension positive.",
        },
        {
          name: "strip",
          label: "Or from a strip",
          kind: "text",
          wide: true,
          more: "Stress",
          example: "length=80mm, thickness=0.3mm, deposit=8um, deflection=4mm",
        },
        { name: "base-thickness", label: "Metal beneath", kind: "quantity", units: ["mm", "in"], more: "Stress" },
      ],
    },
  ],
};

function backed({ result: r }: Calculated, system: UnitSystem): Shown {
  const figures: [string, string][] = [];
  for (const bow of r.bows ?? [])
    figures.push([
      `Bow ${bow.when}, ${celsius(bow.temperature_K)}`,
      `${length(bow.sag_m, system)} centre to edge; ${number(bow.flattening_Pa / 1e5, 2, "bar")} press it flat`,
    ]);
  if (r.flat_limit_m) figures.push(["Flat enough", `within ${length(r.flat_limit_m, system)} (${r.flat_limit_from})`]);
  if (r.solder)
    figures.push(["Solder", `${r.solder}, ${r.solder_fit ? "fit for this press" : "not fit for this press"}`]);
  const solders: ShownTable = {
    caption: "Solders for this press",
    heads: [
      { head: "Solder" },
      { head: "Solidus" },
      { head: "Margin, K", figure: true },
      { head: "Fit" },
      { head: "Why" },
    ],
    rows: (r.solders ?? []).map(
      (one: { name: string; solidus_K: number; margin_K: number; fit: boolean; why: string; leaded: boolean }) => [
        one.name,
        celsius(one.solidus_K),
        fixed(one.margin_K, 0),
        one.fit ? "fit" : "not fit",
        one.leaded ? `${one.why}; holds lead` : one.why,
      ],
    ),
  };
  const layers: ShownTable = {
    caption: "Stress in the layers, cold and pressed flat",
    heads: [{ head: "Layer" }, { head: "Thickness" }, { head: "Stress, MPa", figure: true }],
    rows: (r.layers ?? []).map((one: { name: string; thickness_m: number }, i: number) => [
      one.name,
      length(one.thickness_m, system),
      number((r.bows?.[0]?.flat_stress_Pa?.[i] ?? 0) / 1e6, 0),
    ]),
  };
  return { figures, tables: [layers, solders].filter((one) => one.rows.length > 0), remarks: r.remarks ?? [] };
}

export const back: View = {
  title: "Back",
  what: "The bow and the solder of a backed stamper, or a bare back's thickness and texture.",
  questions: [
    {
      calculation: "back",
      words: "Back",
      act: "Calculate the back",
      at_once: true,
      show: backed,
      log: {
        to: "part",
        field: "part",
        act: "Log this backing to the part",
        help: "It becomes the part's step, with solder and layers.",
      },
      fields: [
        {
          name: "plate",
          label: "Backing plate",
          kind: "quantity",
          units: ["mm", "in"],
          start: "6 mm",
          start_inch: "0.25 in",
          help: "Empty: the stamper stays bare.",
        },
        {
          name: "alloy",
          label: "Solder",
          kind: "choice",
          start: "Sn96.5Ag3Cu0.5",
          choices: ["Sn96.5Ag3Cu0.5", "Sn96.5Ag3.5", "Sn99.3Cu0.7", "Sn63Pb37", "Sn60Pb40", "Sn50Pb50"].map(
            (one) => [one, one] as const,
          ),
          when: (values) => parted_number(values.plate) !== "",
        },
        { name: "press", label: "Press at its hottest", kind: "quantity", units: ["°C", "°F"], start: "165 °C" },
        {
          name: "nickel",
          label: "Nickel of the shell",
          when: without_part,
          kind: "quantity",
          units: ["mm", "mil"],
          start: "0.2 mm",
          start_inch: "8 mil",
        },
        { name: "part", label: "Part", kind: "text", example: "P-00012-K", help: part_help },
        {
          name: "metal",
          label: "Metal of the plate",
          kind: "choice",
          more: "Layers",
          start: "steel",
          choices: ["steel", "tool steel", "stainless steel", "copper", "brass", "aluminium"].map(
            (one) => [one, one] as const,
          ),
        },
        {
          name: "copper",
          label: "Copper behind the nickel",
          when: without_part,
          kind: "quantity",
          units: ["mm", "mil"],
          more: "Layers",
        },
        { name: "solder", label: "Solder joint", kind: "quantity", units: ["mm", "mil"], more: "Layers" },
        { name: "diameter", label: "Trimmed plate, diameter", kind: "quantity", units: ["mm", "in"], more: "Layers" },
        { name: "room", label: "Where it lies cold", kind: "quantity", units: ["°C", "°F"], more: "Layers" },
        { name: "flat", label: "Largest bow", kind: "quantity", units: ["mm", "mil"], more: "Layers" },
        {
          name: "map",
          label: "Thickness map",
          kind: "file",
          endings: ["csv"],
          more: "A bare back",
          drop_words: "A table with x_mm, y_mm (or radius_mm, angle_deg) and thickness_um",
        },
        { name: "range", label: "Largest difference", kind: "quantity", units: ["um", "mil"], more: "A bare back" },
        { name: "roughness", label: "Roughness Rz", kind: "quantity", units: ["um", "mil"], more: "A bare back" },
        {
          name: "spacing",
          label: "Width of its elements RSm",
          kind: "quantity",
          units: ["mm", "in"],
          more: "A bare back",
        },
        {
          name: "pressure",
          label: "Pressure in the press",
          kind: "quantity",
          units: ["bar", "psi"],
          more: "A bare back",
        },
        {
          name: "format",
          label: "Grooves of",
          kind: "choice",
          more: "A bare back",
          start: "12in-33",
          choices: formats,
        },
        { name: "form-edge", label: "Edge formed round", kind: "quantity", units: ["mm", "in"], more: "A bare back" },
        {
          name: "form-centre",
          label: "Centre formed round",
          kind: "quantity",
          units: ["mm", "in"],
          more: "A bare back",
        },
      ],
    },
  ],
};

function parted_number(value: unknown): string {
  return String(value ?? "").split(" ")[0] ?? "";
}

function centred({ result: r }: Calculated, system: UnitSystem): Shown {
  const figures: [string, string][] = [
    ["Offset, hole to groove's centre", `${length(r.length_m, system)} towards ${fixed(r.direction_deg, 0)}°`],
    ["Move the plate", `x ${length(r.move_x_m, system)}, y ${length(r.move_y_m, system)}`],
    ["Limit", `${length(r.limit_m, system)} (${r.limit_from})`],
  ];
  const region = r.offset?.region ?? r.photograph?.region;
  if (region)
    figures.push(["With 90 %", `${length(region.nearest_m, system)} to ${length(region.farthest_m, system)}`]);
  for (const one of r.wow ?? [])
    figures.push([
      `Wow at the ${one.groove} groove, ${length(one.radius_m, system)}`,
      `${share(one.peak)} peak as it lies; at most ${share(one.after_peak)} once moved`,
    ]);
  if (r.heard)
    figures.push([
      `Heard on discs of it (${r.heard.discs})`,
      `${length(r.heard.heard_m, system)} (90 %: ${length(r.heard.low_m, system)} to ${length(r.heard.high_m, system)}) ` +
        `beside ${length(r.heard.read_low_m, system)} to ${length(r.heard.read_high_m, system)} as read: ` +
        (r.heard.agree ? "they agree" : "they differ"),
    ]);
  const readings: ShownTable = {
    caption: "Readings, and how far each lies off the fit",
    heads: [
      { head: "Angle, °", figure: true },
      { head: "Position", figure: true },
      { head: "Off the fit", figure: true },
      { head: "Kept" },
    ],
    rows: (r.offset?.readings ?? []).map(
      (one: { angle_deg: number; position_m: number; residual_m: number; kept: boolean }) => [
        fixed(one.angle_deg, 1),
        length(one.position_m, system),
        length(one.residual_m, system),
        one.kept ? "yes" : "no",
      ],
    ),
  };
  return {
    figures,
    numbers: readings.rows.length > 0 ? { picture: readings } : {},
    remarks: [...(r.remarks ?? []), ...(r.offset?.remarks ?? []), ...(r.more_why ? [r.more_why] : [])],
  };
}

export const centre: View = {
  title: "Centre",
  what: "How far the hole lies off the groove's centre, how to move the plate, and the wow that is left.",
  questions: [
    {
      calculation: "centre",
      words: "Readings at the microscope or gauge",
      act: "Calculate the move",
      show: centred,
      log: {
        to: "part",
        field: "part",
        act: "Log this centring to the part",
        help: "It becomes the part's step, with its offset and limit.",
      },
      fields: [
        {
          name: "readings",
          label: "The groove's place",
          kind: "pairs",
          left: "Angle, °",
          right: "Position",
          example: ["0", "38"],
          right_units: ["um", "mil"],
          start: ["0=", "60=", "120=", "180=", "240=", "300="],
          help: "At three angles or more; outwards counts positive.",
        },
        { name: "format", label: "Format", kind: "choice", start: "12in-33", choices: formats, when: without_part },
        { name: "part", label: "Part", kind: "text", example: "P-00012-K", help: part_help },
        { name: "inwards", label: "The gauge counts inwards", kind: "yes", more: "The gauge" },
        { name: "x-at", label: "Your +x axis lies at", kind: "text", more: "The gauge", example: "0" },
        {
          name: "angles",
          label: "Angles grow",
          kind: "choice",
          more: "The gauge",
          start: "counter-clockwise",
          choices: [
            ["counter-clockwise", "counter-clockwise"],
            ["clockwise", "clockwise"],
          ],
        },
        {
          name: "reading-sigma",
          label: "One reading is good to",
          kind: "quantity",
          units: ["um", "mil"],
          more: "The gauge",
        },
        {
          name: "groove-radius",
          label: "Radius of the groove read",
          kind: "quantity",
          units: ["mm", "in"],
          more: "The gauge",
          help: "Where the positions are a gauge's and not radii.",
        },
        {
          name: "spiral",
          label: "Groove runs inwards a turn by",
          kind: "quantity",
          units: ["um", "mil"],
          more: "The gauge",
          help: "Where one groove is followed that is not closed.",
        },
        {
          name: "limit",
          label: "Largest offset",
          kind: "quantity",
          units: ["um", "mm", "mil"],
          more: "The gauge",
          help: "Without it the works' limit.",
        },
        {
          name: "readings-file",
          label: "Readings as a table",
          kind: "file",
          endings: ["csv"],
          more: "The gauge",
          drop_words: "angle_deg and position_um, one reading a line",
        },
      ],
    },
    {
      calculation: "centre",
      words: "A photograph",
      act: "Find hole and groove",
      show: centred,
      log: {
        to: "part",
        field: "part",
        act: "Log this centring to the part",
        help: "It becomes the part's step, with its offset and limit.",
      },
      fields: [
        {
          name: "photo",
          label: "Photograph",
          kind: "file",
          endings: ["png", "jpg", "jpeg"],
          drop_words: "A photograph or scan of the whole plate, PNG or JPEG",
        },
        { name: "format", label: "Format", kind: "choice", start: "12in-33", choices: formats, when: without_part },
        { name: "part", label: "Part", kind: "text", example: "P-00012-K", help: part_help },
        { name: "scan", label: "It lay flat on a scanner", kind: "yes" },
        {
          name: "hole-diameter",
          label: "Hole's diameter",
          kind: "quantity",
          units: ["mm", "in"],
          more: "Scale",
          help: "Without it the format's.",
        },
        { name: "limit", label: "Largest offset", kind: "quantity", units: ["um", "mm", "mil"], more: "Scale" },
      ],
    },
  ],
};
