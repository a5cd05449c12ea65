// The family as a picture needs it: what was heard of each disc at a fault's place, the tree, and the lanes of impressions.
import type { Family, FamilyDisc } from "../api";
import type { Cause, CauseLevel, NextAct, RecurringFault } from "../contracts";
import { capital, chance, clock_s } from "../units";

export type HeardThere = "fault" | "clean" | "not_heard";

/** Discs with the fault, and discs that were heard, but not at its place. */
export interface HeardAt {
  on: ReadonlySet<string>;
  not_heard: ReadonlySet<string>;
}

export const heard_at = (fault: RecurringFault): HeardAt => ({
  on: new Set(fault.on),
  not_heard: new Set(fault.not_heard ?? []),
});

export function heard_there(disc: FamilyDisc, fault: HeardAt): HeardThere {
  if (fault.on.has(disc.id)) return "fault";
  // A play that heard only part of the side may have missed the place.
  if (fault.not_heard.has(disc.id)) return "not_heard";
  // Good by ear alone says nothing of one place in the groove.
  return disc.report === null ? "not_heard" : "clean";
}

export const levels: readonly CauseLevel[] = ["cut", "father", "mother", "stamper", "mounting"];

export interface Node {
  id: string;
  level: CauseLevel;
  beside: string;
  share: number;
  is_cause: boolean;
  below_cause: boolean;
  faulty: number;
  heard: number;
  left_out: number;
  children: Node[];
  /** Row of its middle, in rows from the top. */
  row: number;
}

const worth_showing = 0.005;

/** The tree with each node's share of probability, what lies below the cause marked, and what does not matter left out. */
export function tree_of(family: Family, fault: RecurringFault, most_rows: number): { roots: Node[]; rows: number } {
  const shares = new Map<string, number>();
  for (const cause of [fault.cause, ...fault.alternatives]) shares.set(`${cause.level} ${cause.id}`, cause.posterior);
  const node = (level: CauseLevel, id: string, beside = ""): Node => ({
    id,
    level,
    beside,
    share: shares.get(`${level} ${id}`) ?? 0,
    is_cause: fault.cause.level === level && fault.cause.id === id,
    below_cause: false,
    faulty: 0,
    heard: 0,
    left_out: 0,
    children: [],
    row: 0,
  });
  const at_place = heard_at(fault);
  const parts = new Map(family.parts.map((part) => [part.id, node(part.kind, part.id)]));
  const order = [...family.parts].sort((a, b) => (a.grown ?? 0) - (b.grown ?? 0));
  const roots: Node[] = [];
  for (const part of order) {
    const own = parts.get(part.id) as Node,
      parent = part.parent === null ? undefined : parts.get(part.parent);
    // A parent of a later kind would close a circle: the record's fault, and no picture's.
    if (parent && levels.indexOf(parent.level) < levels.indexOf(own.level)) parent.children.push(own);
    else roots.push(own);
  }
  const mountings = new Map<string, Node>();
  for (const mounting of family.mountings) {
    const stamper = mounting.stamper === null ? undefined : parts.get(mounting.stamper);
    if (!stamper) continue;
    const made = node("mounting", mounting.id, mounting.press ?? "");
    mountings.set(mounting.id, made);
    stamper.children.push(made);
  }
  for (const disc of family.discs) {
    const there = heard_there(disc, at_place);
    const at =
      (disc.mounting === null ? undefined : mountings.get(disc.mounting)) ??
      (disc.stamper === null ? undefined : parts.get(disc.stamper));
    if (!at || there === "not_heard") continue;
    at.heard += 1;
    if (there === "fault") at.faulty += 1;
  }
  const finish = (one: Node, below: boolean): void => {
    one.below_cause = below;
    for (const child of one.children) {
      finish(child, below || one.is_cause);
      one.heard += child.heard;
      one.faulty += child.faulty;
    }
  };
  for (const root of roots) finish(root, false);
  // A stamper of nothing, mounted nowhere, never heard, is the other side's.
  const own_roots = roots.filter((one) => one.level !== "stamper" || one.children.length > 0 || one.heard > 0);
  roots.splice(0, roots.length, ...own_roots);
  for (let step = 0; step < 3 && rows_of(roots) > most_rows; ++step) for (const root of roots) thin(root, step);
  let next = 0;
  const place = (one: Node): void => {
    if (one.children.length === 0) one.row = next++ + 0.5;
    else {
      for (const child of one.children) place(child);
      one.row = ((one.children[0] as Node).row + (one.children[one.children.length - 1] as Node).row) / 2;
    }
  };
  for (const root of roots) place(root);
  return { roots, rows: Math.max(next, 1) };
}

function rows_of(roots: readonly Node[]): number {
  return roots.reduce((sum, one) => sum + (one.children.length === 0 ? 1 : rows_of(one.children)), 0);
}

const matters = (one: Node): boolean =>
  one.left_out > 0 || one.is_cause || one.share >= worth_showing || one.faulty > 0 || one.children.some(matters);

/** Leaves out, in turn: mountings of what does not matter, mountings that are no cause, whatever does not matter. */
function thin(at: Node, step: number): void {
  const spared = (child: Node) => {
    if (child.left_out > 0) return true;
    if (step === 0) return child.level !== "mounting" || matters(at);
    if (step === 1) return child.level !== "mounting" || child.share >= worth_showing || child.is_cause;
    return matters(child);
  };
  const gone = at.children.filter((child) => !spared(child));
  at.children = at.children.filter(spared);
  if (gone.length > 0 && at.level !== "stamper")
    at.children.push({
      id: "",
      level: (gone[0] as Node).level,
      beside: "",
      share: 0,
      is_cause: false,
      below_cause: false,
      faulty: 0,
      heard: 0,
      left_out: gone.length,
      children: [],
      row: 0,
    });
  for (const child of at.children) thin(child, step);
}

export interface Lane {
  stamper: string;
  touched: boolean;
  pressed: [number, number][];
  marks: { disc: FamilyDisc; low: number; high: number; there: HeardThere }[];
  faulty: number;
  heard: number;
}

/** One lane a stamper, in the order of pressing; a cause that is no metal can have touched all. */
export function lanes_of(family: Family, fault: RecurringFault): { lanes: Lane[]; unknown: number; last: number } {
  const at_place = heard_at(fault);
  const touched = touched_stampers(family, fault.cause);
  const lanes = new Map<string, Lane>();
  const lane_of = (stamper: string): Lane => {
    let lane = lanes.get(stamper);
    if (!lane)
      lanes.set(
        stamper,
        (lane = { stamper, touched: touched.has(stamper), pressed: [], marks: [], faulty: 0, heard: 0 }),
      );
    return lane;
  };
  let unknown = 0,
    last = family.impressions;
  for (const mounting of family.mountings)
    if (mounting.stamper !== null && mounting.impressions) {
      lane_of(mounting.stamper).pressed.push(mounting.impressions);
      last = Math.max(last, mounting.impressions[1]);
    }
  for (const disc of family.discs) {
    if (!disc.impression || disc.stamper === null) {
      unknown += 1;
      continue;
    }
    const lane = lane_of(disc.stamper),
      there = heard_there(disc, at_place);
    lane.marks.push({ disc, low: disc.impression[0], high: disc.impression[1], there });
    if (there !== "not_heard") lane.heard += 1;
    if (there === "fault") lane.faulty += 1;
    last = Math.max(last, disc.impression[1]);
  }
  const first = (lane: Lane) => Math.min(...lane.pressed.map(([low]) => low), ...lane.marks.map((mark) => mark.low));
  return { lanes: [...lanes.values()].sort((a, b) => first(a) - first(b)), unknown, last };
}

function touched_stampers(family: Family, cause: Cause): Set<string> {
  const stampers = new Set(family.parts.filter((part) => part.kind === "stamper").map((part) => part.id));
  for (const disc of family.discs) if (disc.stamper !== null) stampers.add(disc.stamper);
  const parents = new Map(family.parts.map((part) => [part.id, part.parent]));
  if (cause.level === "mounting") {
    const mounted = family.mountings.filter((one) => one.id === cause.id).map((one) => one.stamper);
    return new Set(mounted.filter((one): one is string => one !== null));
  }
  if (!levels.includes(cause.level)) return stampers;
  return new Set(
    [...stampers].filter((stamper) => {
      let at: string | null | undefined = stamper;
      for (let steps = 0; steps < 8 && at; ++steps) {
        if (at === cause.id) return true;
        at = parents.get(at);
      }
      return false;
    }),
  );
}

export function cause_words(cause: Cause): string {
  const level = cause.level === "disc" ? "each disc alone" : cause.level;
  return cause.id ? `${level} ${cause.id}` : level;
}

export function since_words(cause: Cause): string {
  const parts: string[] = [];
  const from_birth = (cause.since_birth ?? 0) > 0.5;
  if (from_birth) parts.push("since its birth");
  if (cause.onset) {
    if (!from_birth) parts.push(`since impression ${cause.onset.best}`);
    if (cause.onset.low !== cause.onset.high) parts.push(`(90\u2009%: ${cause.onset.low} to ${cause.onset.high})`);
  }
  if (cause.end && cause.end.probability > 0.5) parts.push(`gone from ${cause.end.best} on`);
  return parts.join(" ");
}

export function fault_name(fault: RecurringFault): string {
  return `${capital(fault.pattern ?? fault.kind)} at ${clock_s(fault.programme_s)}, side ${fault.side}`;
}

const act_words: Record<string, string> = {
  hear: "Hear",
  "spot-hear": "Spot-hear",
  microscope: "Look with the microscope at",
  "play mother": "Play",
  play_mother: "Play",
  "look at father": "Look at",
  look_at_father: "Look at",
  spot_hear: "Spot-hear",
};

/** "Fetch disc S-000120-4 (impression 512) from carton K-000003-Q and hear it". */
export function next_words(act: NextAct): string {
  const impression =
    act.impression === null || act.impression === undefined
      ? ""
      : Array.isArray(act.impression)
        ? act.impression[0] === act.impression[1]
          ? `impression ${act.impression[0]}`
          : `impressions ${act.impression[0]}–${act.impression[1]}`
        : `impression ${act.impression}`;
  if (act.part) return `${act_words[act.act] ?? capital(act.act)} ${act.part}`;
  // Stock that lies in no carton has a name of its own: "suspect of R-00002-7".
  const from = act.carton
    ? act.carton.includes(" ")
      ? ` from what is ${act.carton}`
      : ` from carton ${act.carton}`
    : act.spindle
      ? ` from spindle ${act.spindle}`
      : "";
  if (!act.disc && from)
    return `Fetch one disc${from}${impression ? ` (${impression})` : ""} and ${act.act.startsWith("spot") ? "hear this place" : "hear it"}`;
  const what = act.disc
    ? `disc ${act.disc}${impression ? ` (${impression})` : ""}`
    : impression
      ? `the disc of ${impression}`
      : "a disc";
  return `Fetch ${what}${from} and ${act.act.startsWith("spot") ? "hear this place" : "hear it"}`;
}

export const belief = (cause: Cause) => chance(Math.max(cause.posterior, 0));

export function ranges_words(ranges: readonly [number, number][]): string {
  return ranges.map(([low, high]) => (low === high ? `${low}` : `${low}–${high}`)).join(", ");
}

/** The recurring fault that a fault of one disc is part of: at the same place of the programme, within the trace's own doubt. */
export function recurring_at(faults: readonly RecurringFault[], programme_s: number | null): RecurringFault | null {
  if (programme_s === null) return null;
  const near = (fault: RecurringFault) => Math.abs(fault.programme_s - programme_s);
  const reach = (fault: RecurringFault) => Math.max(4 * fault.programme_sigma_s, 0.002);
  const all = faults.filter((fault) => near(fault) <= reach(fault)).sort((a, b) => near(a) - near(b));
  return all[0] ?? null;
}
