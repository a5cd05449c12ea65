import { fixed, number, on_clock, share, time } from "./amounts";
import { lives } from "./bench";
import type { Calculated, Field, Shown, ShownTable, View } from "./describe";

interface PlannedOrder {
  id: string;
  title: string;
  quantity: number;
  due_s: number;
  end_s: number;
  late_s: number;
}
interface Work {
  id: string;
  order: string;
  unit: string;
  start_s: number;
  end_s: number;
}
interface Load {
  station: string;
  units: number;
  work_s: number;
  open_s: number;
  one_more: { late_orders: number; end_s: number } | null;
}

function scheduled({ result: r }: Calculated): Shown {
  const at = (seconds: number) => on_clock(r.now_s + seconds);
  const orders: ShownTable = {
    caption: "Orders",
    heads: [
      { head: "Order" },
      { head: "Title" },
      { head: "Discs", figure: true },
      { head: "Due" },
      { head: "Done" },
      { head: "Late" },
    ],
    rows: r.orders.map((one: PlannedOrder) => [
      one.id,
      one.title,
      one.quantity,
      at(one.due_s),
      at(one.end_s),
      one.late_s > 0 ? time(one.late_s) : `no, ${time(one.due_s - one.end_s)} to spare`,
    ]),
  };
  const loads: ShownTable = {
    caption: "What holds them up",
    heads: [
      { head: "Station or hands" },
      { head: "Units", figure: true },
      { head: "Busy", figure: true },
      { head: "One more would give" },
    ],
    rows: (r.loads ?? []).map((one: Load) => [
      one.station,
      one.units,
      one.open_s > 0 ? share(one.work_s / one.open_s) : "–",
      one.one_more
        ? one.one_more.late_orders < r.plan.late_orders
          ? `${one.one_more.late_orders} late instead of ${r.plan.late_orders}`
          : one.one_more.end_s < r.plan.end_s
            ? `all done ${time(r.plan.end_s - one.one_more.end_s)} earlier`
            : "nothing"
        : "–",
    ]),
  };
  const works: ShownTable = {
    caption: "Who does what when",
    heads: [{ head: "Work" }, { head: "On" }, { head: "From" }, { head: "To" }],
    rows: (r.works ?? []).map((one: Work) => [one.id, one.unit, at(one.start_s), at(one.end_s)]),
  };
  const figures: [string, string][] = [
    ["Late orders", number(r.plan.late_orders, 0)],
    ["All done", at(r.plan.end_s)],
    ["Changing over", time(r.plan.change_s)],
  ];
  for (const one of r.orders as PlannedOrder[]) figures.push([`${one.id} done`, at(one.end_s)]);
  return { figures, tables: [orders, loads], numbers: { picture: works }, remarks: r.found ?? [] };
}

interface Promised {
  id: string;
  due_s: number;
  half_s: number;
  ninety_five_s: number;
  on_time: { value: number; low: number; high: number };
}

function promised({ result: r }: Calculated): Shown {
  const at = (seconds: number) => on_clock(r.now_s + seconds);
  const orders: ShownTable = {
    caption: "Dates",
    heads: [
      { head: "Order" },
      { head: "Due" },
      { head: "Even chance" },
      { head: "Promise (95 %)" },
      { head: "On time", figure: true },
    ],
    rows: r.orders.map((one: Promised) => [
      one.id,
      at(one.due_s),
      at(one.half_s),
      at(one.ninety_five_s),
      share(one.on_time.value),
    ]),
  };
  const causes: ShownTable = {
    caption: "What makes it late",
    heads: [{ head: "Cause" }, { head: "Share", figure: true }],
    rows: (r.causes ?? []).map((one: { cause: string; share: number }) => [one.cause, share(one.share)]),
  };
  const figures: [string, string][] = [
    [
      "Every order on time",
      `${share(r.all_on_time.value)} (${share(r.all_on_time.low)} to ${share(r.all_on_time.high)})`,
    ],
    ["Replays", number(r.replays, 0)],
  ];
  for (const one of r.orders as Promised[]) figures.push([`${one.id} with 95 %`, at(one.ninety_five_s)]);
  return {
    figures,
    tables: [orders, ...(causes.rows.length > 0 ? [causes] : [])],
    remarks: [...(r.found ?? []), ...(r.lives ? [`Stampers' lives: ${r.lives}`] : [])],
  };
}

const stations = ({ result }: Calculated): string[] =>
  (result.loads ?? []).map((one: Load) => one.station.replace(/^hand /, ""));
const orders = ({ result }: Calculated): string[] => (result.orders ?? []).map((one: { id: string }) => one.id);

const shop: readonly Field[] = [
  {
    name: "shop",
    label: "Plan",
    kind: "file",
    endings: ["toml"],
    folder: "plans",
    none: "the record's orders, over the works' shop.toml",
    drop_words: "Stations, hours, hands, routes and orders (docs/schedule.md)",
  },
];
const what_if: readonly Field[] = [
  {
    name: "more",
    label: "What if there were more",
    kind: "pairs",
    left: "Of",
    right: "More",
    example: ["press", "1"],
    add: "Add a machine or hands",
    known: stations,
  },
  {
    name: "hours",
    label: "What if they worked",
    kind: "pairs",
    left: "Who",
    right: "Shifts",
    example: ["press", "mon-sat 06:00-22:00"],
    add: "Add hours",
    known: stations,
  },
  {
    name: "due",
    label: "What if it were due",
    kind: "pairs",
    left: "Order",
    right: "Date",
    example: ["O-2", "2026-12-16 14:00"],
    add: "Add a date",
    known: orders,
  },
  { name: "rounds", label: "Rounds of bettering", kind: "text", example: "8", more: "Search" },
  { name: "seed", label: "Seed", kind: "text", example: "1", more: "Search" },
];

export const plan: View = {
  title: "Plan and promise",
  what: "Who does what when, what holds the orders up, and which date to promise.",
  questions: [
    {
      calculation: "schedule",
      words: "The plan",
      act: "Plan",
      at_once: true,
      show: scheduled,
      next_words: [[/`plan promise`/, "“The date to promise”"]],
      fields: [...shop, ...what_if],
    },
    {
      calculation: "promise",
      words: "The date to promise",
      act: "Play the plan",
      at_once: true,
      show: promised,
      fields: [
        ...shop,
        ...what_if,
        { name: "replays", label: "Replays", kind: "text", example: "2000", more: "Search" },
      ],
    },
  ],
};

function needed({ result: r }: Calculated): Shown {
  const all = r.all;
  const figures: [string, string][] = [
    ["Discs ordered", number(all.quantity, 0)],
    ["Impressions", number(all.impressions, 0)],
    ["Stampers to begin", `${all.a.begin_stampers} for A, ${all.b.begin_stampers} for B`],
    ["Mothers to begin", `${all.a.begin_mothers} for A, ${all.b.begin_mothers} for B`],
    ["Fathers to begin", `${all.a.begin_fathers} for A, ${all.b.begin_fathers} for B`],
    ["All is enough with", share(all.chance)],
    ["Compound", `${number(all.compound_kg, 1, "kg")} in ${all.mixes} mixes`],
    ["Biscuits, labels, sleeves", `${number(all.biscuits, 0)}, ${number(all.labels, 0)}, ${number(all.sleeves, 0)}`],
    ["Cartons", number(all.cartons, 0)],
    ["Stampers' lives", r.life],
  ];
  for (const [station, hours] of Object.entries((all.hours ?? {}) as Record<string, number>))
    figures.push([`Hours, ${station.replaceAll("_", " ")}`, fixed(hours, 1)]);
  const titles: ShownTable = {
    caption: "Title by title",
    heads: [
      { head: "Title" },
      { head: "Orders" },
      { head: "Discs", figure: true },
      { head: "Stampers A", figure: true },
      { head: "Stampers B", figure: true },
      { head: "Enough", figure: true },
    ],
    rows: r.titles.map(
      (one: {
        title: string;
        orders: string[];
        quantity: number;
        a: { begin_stampers: number };
        b: { begin_stampers: number };
        chance: number;
      }) => [
        one.title,
        one.orders.join(", "),
        one.quantity,
        one.a.begin_stampers,
        one.b.begin_stampers,
        share(one.chance),
      ],
    ),
  };
  const risk: ShownTable = {
    caption: "Stampers against risk",
    heads: ["A", "B", "Enough", "Wanting, mean", "Cost of both"].map((head) => ({ head, figure: true })),
    rows: (r.titles[0]?.stampers_against_risk ?? []).map(
      (one: { a: number; b: number; enough: number; wanting_mean: number; cost: number }) => [
        one.a,
        one.b,
        share(one.enough),
        fixed(one.wanting_mean, 2),
        fixed(one.cost, 0),
      ],
    ),
  };
  return { figures, tables: [titles], numbers: { picture: risk } };
}

export const need: View = {
  title: "What orders take",
  what: "Stampers with a stated chance, metal, compound, paper and hours.",
  questions: [
    {
      calculation: "need",
      words: "Open orders of the record",
      act: "Reckon it up",
      at_once: true,
      show: needed,
      fields: [
        { name: "order", label: "Order", kind: "text", example: "O-00002-X", help: "Empty: all that are open." },
        { name: "chance", label: "Each title is met with", kind: "quantity", units: ["%"], start: "95 %" },
        { name: "scrap", label: "Scrapped", kind: "quantity", units: ["%"], help: "Empty: the works' figure." },
        ...lives,
        { name: "stamper-cost", label: "A stamper costs", kind: "text", more: "Costs" },
        { name: "shortage-cost", label: "Standing for one costs", kind: "text", more: "Costs" },
      ],
    },
    {
      calculation: "need",
      words: "So many discs",
      act: "Reckon it up",
      show: needed,
      fields: [
        { name: "discs", label: "Discs of one title", kind: "text", start: "3000" },
        { name: "chance", label: "Met with", kind: "quantity", units: ["%"], start: "95 %" },
        { name: "scrap", label: "Scrapped", kind: "quantity", units: ["%"], help: "Empty: the works' figure." },
        ...lives,
        { name: "stamper-cost", label: "A stamper costs", kind: "text", more: "Costs" },
        { name: "shortage-cost", label: "Standing for one costs", kind: "text", more: "Costs" },
      ],
    },
  ],
};
