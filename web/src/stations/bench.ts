import { fixed, number, share } from "./amounts";
import type { Calculated, Field, Shown, ShownTable, View } from "./describe";

const aql: Field = {
  name: "aql",
  label: "Acceptance quality limit",
  kind: "choice",
  start: "1.0",
  choices: ["0.10", "0.15", "0.25", "0.40", "0.65", "1.0", "1.5", "2.5", "4.0", "6.5"].map(
    (one) => [one, `${one} in a hundred`] as const,
  ),
};
const level: Field = {
  name: "level",
  label: "Level",
  kind: "choice",
  start: "II",
  choices: ["I", "II", "III", "S-1", "S-2", "S-3", "S-4"].map((one) => [one, one] as const),
};
const lot: Field = { name: "lot", label: "Discs in the lot", kind: "text", start: "500" };
const risks = (under_more: boolean): Field[] => [
  {
    name: "good",
    label: "Good is flawed up to",
    kind: "quantity",
    units: ["%"],
    start: "1 %",
    ...(under_more ? { more: "Risks" } : {}),
  },
  {
    name: "producer-risk",
    label: "Then held at most",
    kind: "quantity",
    units: ["%"],
    start: "5 %",
    ...(under_more ? { more: "Risks" } : {}),
  },
  {
    name: "bad",
    label: "Bad is flawed from",
    kind: "quantity",
    units: ["%"],
    start: "6.5 %",
    ...(under_more ? { more: "Risks" } : {}),
  },
  {
    name: "consumer-risk",
    label: "Then shipped at most",
    kind: "quantity",
    units: ["%"],
    start: "10 %",
    ...(under_more ? { more: "Risks" } : {}),
  },
];
const lives: readonly Field[] = [
  {
    name: "life-scale",
    label: "63 % of stampers end by",
    kind: "text",
    example: "1400",
    more: "Stampers' lives",
    help: "Closings; without it what the works' record teaches.",
  },
  { name: "life-shape", label: "Shape of the law", kind: "text", example: "2", more: "Stampers' lives" },
  {
    name: "pull-at",
    label: "Pulled at",
    kind: "text",
    example: "1000",
    more: "Stampers' lives",
    help: "Closings at which the works pulls one that is still good.",
  },
];
export { lives };

interface Point {
  share: number;
  ships: number;
  heard: number;
  outgoing: number;
}
function curve(points: readonly Point[] | undefined): ShownTable {
  return {
    caption: "What the plan does, by the flawed share of the lot",
    heads: ["Flawed", "Shipped", "Discs heard", "Flawed that leave"].map((head) => ({ head, figure: true })),
    rows: (points ?? []).map((one) => [share(one.share), share(one.ships), fixed(one.heard, 1), share(one.outgoing)]),
  };
}

function next({ result: r }: Calculated): Shown {
  const ends: ShownTable = {
    caption: "When to stop, disc by disc",
    heads: ["Heard", "Ship at flawed up to", "Hold at flawed from"].map((head) => ({ head, figure: true })),
    rows: (r.ship_at ?? []).map((ship: number, i: number) => [i + 1, ship < 0 ? null : ship, r.hold_at[i]]),
  };
  return {
    figures: [
      ["Heard so far", `${r.heard}, ${r.flawed} flawed`],
      ["At least to hear", r.act === "hear more" ? `${r.at_least} more` : "none"],
      ["In the mean, of a good lot", number(r.mean_if_good, 1, "more")],
      ["In the mean, of a bad lot", number(r.mean_if_bad, 1, "more")],
      ["A good lot is held", share(r.producer_risk)],
      ["A bad lot is shipped", share(r.consumer_risk)],
    ],
    numbers: { picture: ends },
  };
}

interface Stage {
  heard: number;
  accept: number;
  reject: number;
}
const stage_words = (stages: readonly Stage[]) =>
  stages.map((one) => `${one.heard} discs: ship to ${one.accept}, hold from ${one.reject}`).join("; then ");

function table({ result: r }: Calculated): Shown {
  return {
    figures: [
      ["Hear", stage_words(r.stages)],
      ["Code letter", `${r.letter}${r.plan_letter !== r.letter ? `, plan of ${r.plan_letter}` : ""}`],
      ["Inspection", `${r.inspection}, level ${r.level}, AQL ${r.quality_limit}`],
      ["From memory", r.from_memory ? "yes: check it against the standard" : "no"],
    ],
    numbers: { picture: curve(r.curves?.points) },
  };
}

function designed({ result: r }: Calculated): Shown {
  const plans: ShownTable = {
    caption: "Three ways to the same risks",
    heads: [
      { head: "Plan" },
      { head: "How" },
      { head: "Discs at most", figure: true },
      { head: "Heard of a good lot", figure: true },
      { head: "of a bad lot", figure: true },
    ],
    rows: r.plans.map(
      (one: {
        kind: string;
        stages?: { heard: number; accept: number; reject: number }[];
        most: number;
        heard_good: number;
        heard_bad: number;
      }) => [
        one.kind,
        one.stages && one.stages.length > 0 && one.stages.length < 4 ? stage_words(one.stages) : "disc by disc",
        one.most,
        fixed(one.heard_good, 1),
        fixed(one.heard_bad, 1),
      ],
    ),
  };
  return {
    figures: r.plans.map((one: { kind: string; producer_risk: number; consumer_risk: number }) => [
      one.kind,
      `good held ${share(one.producer_risk)}, bad shipped ${share(one.consumer_risk)}`,
    ]),
    tables: [plans],
    numbers: { picture: curve(r.plans[0]?.curves?.points) },
  };
}

function placed({ result: r }: Calculated): Shown {
  return {
    figures: [
      ["Pull at impressions", r.at.join(", ")],
      ["Pressed before a verdict", number(r.discs_behind, 0, "discs")],
      ["Samples apart at least", number(r.least_gap, 0)],
      ["Damage in this run", share(r.damage_chance)],
      ["Flawed discs made, in the mean", number(r.flawed_mean, 1)],
      ["And where there is damage", number(r.flawed_if_damaged, 1)],
      ["Cost here; at even places", `${number(r.cost, 0)}; ${number(r.cost_even, 0)}`],
    ],
    remarks: r.remarks ?? [],
  };
}

interface RunJudged {
  run: string;
  title: string;
  act: string;
  why: string;
  shippable: number;
  suspect: number;
  heard: number;
  flawed: number;
  places: number[];
}
function runs({ result: r }: Calculated): Shown {
  const all = r.runs as RunJudged[];
  const acts = (act: string) => number(all.filter((one) => one.act === act).length);
  return {
    figures: [
      ["Runs", number(all.length)],
      ["To ship", acts("ship")],
      ["To hold", acts("hold")],
      ["To hear more of", acts("hear more")],
    ],
    tables: [
      {
        caption: "Run by run",
        heads: [
          { head: "Run" },
          { head: "Title" },
          { head: "Do" },
          { head: "Why" },
          { head: "May ship", figure: true },
          { head: "Suspect", figure: true },
          { head: "Hear impressions" },
        ],
        rows: all.map((one) => [
          one.run,
          one.title,
          one.act,
          one.why,
          one.shippable,
          one.suspect,
          one.places.join(", "),
        ]),
      },
    ],
  };
}

function lots({ result: r }: Calculated): Shown {
  const all = r.lots as {
    lot: string;
    inspection: string;
    stages: Stage[];
    accepted: boolean | null;
    switches: string;
  }[];
  return {
    figures: [
      ["Lots", number(all.length)],
      ["Held", number(all.filter((one) => one.accepted === false).length)],
    ],
    tables: [
      {
        caption: "Lot by lot",
        heads: [{ head: "Lot" }, { head: "Inspection" }, { head: "Hear" }, { head: "Stands" }, { head: "Then" }],
        rows: all.map((one) => [
          one.lot,
          one.inspection,
          stage_words(one.stages),
          one.accepted === null ? "not heard" : one.accepted ? "ship" : "hold",
          one.switches || null,
        ]),
      },
    ],
  };
}

/** What the commands call themselves. */
const said_words: [RegExp, string][] = [
  [/enter each with `goodside works ticket` and `hear`/, "pull a sample ticket for each, and hear it"],
  [/`goodside accept next[^`]*` says/, "“Is it enough?” says"],
  [/with `goodside works ticket`/, "by a sample ticket"],
];

export const sampling: View = {
  title: "Sampling",
  what: "How many discs to hear, and whether it is enough.",
  questions: [
    {
      calculation: "sampling-runs",
      next_words: said_words,
      words: "Each run",
      act: "Judge the runs",
      at_once: true,
      show: runs,
      fields: [{ name: "run", label: "Run", kind: "text", example: "R-00002-7", help: "Empty: all." }, ...risks(true)],
    },
    {
      calculation: "sampling-next",
      next_words: said_words,
      words: "Is it enough?",
      act: "Is it enough?",
      at_once: true,
      show: next,
      fields: [
        lot,
        { name: "heard", label: "Heard so far", kind: "text", start: "20" },
        { name: "flawed", label: "Flawed among them", kind: "text", start: "0" },
        ...risks(true),
      ],
    },
    {
      calculation: "sampling-places",
      next_words: said_words,
      words: "Where in a run to pull them",
      act: "Find the places",
      show: placed,
      fields: [
        { name: "impressions", label: "Impressions to come", kind: "text", start: "1000" },
        { name: "side-time", label: "A side plays", kind: "quantity", units: ["min", "s"], start: "22 min" },
        { name: "cycle", label: "The press, disc to disc", kind: "quantity", units: ["s"], start: "30 s" },
        {
          name: "sides",
          label: "Sides heard of each",
          kind: "choice",
          start: "2",
          choices: [
            ["2", "both"],
            ["1", "one"],
          ],
        },
        { name: "wait", label: "Waits before it is heard", kind: "quantity", units: ["min", "h"], more: "Hearing" },
        { name: "listeners", label: "Listeners", kind: "text", example: "1", more: "Hearing" },
        { name: "most-flawed", label: "Never more flawed discs than", kind: "text", example: "100", more: "Hearing" },
        { name: "disc-cost", label: "A flawed disc costs", kind: "text", example: "2.5", more: "Hearing" },
        { name: "minute-cost", label: "A listener's minute costs", kind: "text", example: "0.6", more: "Hearing" },
        {
          name: "age-a",
          label: "Stamper A has done",
          kind: "text",
          example: "0",
          more: "Stampers' lives",
          help: "Closings.",
        },
        { name: "age-b", label: "Stamper B has done", kind: "text", example: "0", more: "Stampers' lives" },
        ...lives,
      ],
    },
    {
      calculation: "sampling-design",
      next_words: said_words,
      words: "A plan for stated risks",
      act: "Design the plans",
      at_once: true,
      show: designed,
      fields: [lot, ...risks(false)],
    },
    {
      calculation: "sampling-table",
      next_words: said_words,
      words: "ISO 2859-1",
      act: "Read the tables",
      at_once: true,
      show: table,
      fields: [
        lot,
        aql,
        {
          name: "inspection",
          label: "Inspection",
          kind: "choice",
          start: "normal",
          choices: ["normal", "tightened", "reduced"].map((one) => [one, one] as const),
        },
        level,
        { name: "double", label: "A double plan", kind: "yes" },
      ],
    },
    {
      calculation: "sampling-lots",
      next_words: said_words,
      words: "Lot after lot",
      act: "Judge the lots",
      show: lots,
      fields: [
        {
          name: "file",
          label: "Lots",
          kind: "file",
          endings: ["csv"],
          drop_words: "The columns lot, discs, flawed, in the order of production",
        },
        aql,
        level,
        { name: "steady", label: "Production is steady, reduced inspection agreed", kind: "yes" },
        { name: "double", label: "A double plan", kind: "yes" },
      ],
    },
  ],
};

const rules_words = ["limits", "western-electric", "nelson"].map((one) => [one, one] as const);
const kinds = ["", "individuals", "xbar-r", "xbar-s", "p", "np", "u", "c", "cusum", "ewma"].map(
  (one) => [one, one === "" ? "what suits" : one] as const,
);

function charted({ result: r }: Calculated): Shown {
  const [first] = r.panels ?? [];
  const points: ShownTable = {
    caption: "Every point",
    heads: [
      { head: "Point" },
      ...["Value", "Lower", "Centre", "Upper"].map((head) => ({ head, figure: true })),
      { head: "Signals" },
    ],
    rows: (first?.points ?? []).map(
      (one: {
        label: string;
        value: number;
        lower: number | null;
        centre: number;
        upper: number | null;
        rules: string[];
      }) => [
        one.label,
        number(one.value, 3),
        one.lower === null ? null : number(one.lower, 3),
        number(one.centre, 3),
        one.upper === null ? null : number(one.upper, 3),
        one.rules.join(", "),
      ],
    ),
  };
  const figures: [string, string][] = [
    ["Signals", number(r.signals, 0)],
    ["Centre", `${number(r.centre, 3)} ${r.unit ?? ""}`],
    ["Sigma", number(r.sigma, 3)],
    ["Limits rest on", number(r.baseline, 0, "points")],
  ];
  if (r.run_length) figures.push(["A false signal every", number(r.run_length, 0, "points")]);
  if (r.run_length_shift) figures.push(["A shift of one sigma is found in", number(r.run_length_shift, 1, "points")]);
  if (r.capability?.cpk !== undefined && r.capability.cpk !== null) figures.push(["Cpk", number(r.capability.cpk, 2)]);
  return { figures, numbers: { picture: points }, remarks: r.remarks ?? [] };
}

const chart_more: readonly Field[] = [
  { name: "kind", label: "Kind of chart", kind: "choice", start: "", choices: kinds, more: "Chart" },
  { name: "rules", label: "Run rules", kind: "choice", start: "western-electric", choices: rules_words, more: "Chart" },
  {
    name: "first",
    label: "Limits rest on the first",
    kind: "text",
    example: "25",
    more: "Chart",
    help: "Points; empty: all.",
  },
  { name: "spec-low", label: "Specification, low", kind: "text", more: "Capability" },
  { name: "spec-high", label: "Specification, high", kind: "text", more: "Capability" },
];

export const chart: View = {
  title: "Charts",
  what: "Whether the works stands still: control charts of the record or of a table.",
  questions: [
    {
      calculation: "chart",
      words: "Of the record",
      act: "Draw the chart",
      at_once: true,
      show: charted,
      fields: [
        {
          name: "of",
          label: "Of",
          kind: "choice",
          start: "eccentricity",
          choices: [
            ["eccentricity", "eccentricity of heard discs"],
            ["noise", "noise of heard discs"],
            ["faults", "faults of heard discs"],
            ["biscuit-mass", "biscuits' mass"],
            ["biscuit-thickness", "biscuits' thickness"],
            ["biscuit-diameter", "biscuits' diameter"],
          ],
        },
        { name: "run", label: "Run", kind: "text", example: "R-00002-7", help: "Empty: all." },
        {
          name: "side",
          label: "Side",
          kind: "choice",
          start: "",
          choices: [
            ["", "all"],
            ["A", "A"],
            ["B", "B"],
          ],
        },
        ...chart_more,
      ],
    },
    {
      calculation: "chart",
      words: "Of a table",
      act: "Draw the chart",
      show: charted,
      fields: [
        {
          name: "file",
          label: "Table",
          kind: "file",
          endings: ["csv"],
          drop_words: "A line a point or a value, the columns named in the first",
        },
        { name: "value", label: "Column of values", kind: "text", example: "mass_g" },
        { name: "count", label: "Or column of counts", kind: "text", example: "flawed" },
        { name: "size", label: "Of how many", kind: "text", example: "heard" },
        { name: "group", label: "Lines that share it are one sample", kind: "text", more: "Chart" },
        { name: "label", label: "What a point is called", kind: "text", more: "Chart" },
        { name: "unit", label: "Unit", kind: "text", example: "g", more: "Chart" },
        ...chart_more,
      ],
    },
  ],
};
