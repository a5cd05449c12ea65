// What the views by hand ask the server for; the shapes are those of docs/api/openapi.json.
import type { Counts, Row } from "../api";
import type { Impressions } from "../contracts";

const code = encodeURIComponent;

/** Addresses that are asked. */
export const asked = {
  kinds: "/api/kinds",
  titles: "/api/titles?limit=200",
  owed: (order: string) => `/api/orders/${code(order)}/owed`,
  parts: (title: string) => `/api/titles/${code(title)}/parts`,
  acts: (part: string) => `/api/parts/${code(part)}/acts`,
  presses: "/api/presses",
  inspection: "/api/inspection",
  packing: (order: string) => `/api/orders/${code(order)}/packing`,
  scan: (text: string) => `/api/scan?q=${code(text)}`,
  ledger: "/api/ledger",
  movements: (before: number | null, run: string) =>
    `/api/ledger/movements?limit=50${before ? `&before=${before}` : ""}${run ? `&run=${code(run)}` : ""}`,
  check: "/api/ledger/check",
  flow: (thing: string) => `/api/flow/${code(thing)}`,
  paper: (kind: string, of: string, format: "pdf" | "svg" = "pdf") =>
    `/api/papers/${kind}/${code(of)}?format=${format}`,
  label: (unit: string, format: "pdf" | "svg" = "pdf") => `/api/labels/${code(unit)}?format=${format}`,
};

/** Addresses that are written to. */
export const written = {
  thing: "/api/entered",
  order: "/api/orders",
  approval: (order: string) => `/api/orders/${code(order)}/approvals`,
  undo: (entry: number) => `/api/entries/${entry}/undo`,
  step: (part: string) => `/api/parts/${code(part)}/steps`,
  hold_part: (part: string) => `/api/parts/${code(part)}/hold`,
  mount: (press: string) => `/api/presses/${code(press)}/mount`,
  unmount: (mounting: string) => `/api/mountings/${code(mounting)}/end`,
  press: (run: string) => `/api/runs/${code(run)}/pressings`,
  ticket: (run: string) => `/api/runs/${code(run)}/tickets`,
  hear: (ticket: string) => `/api/tickets/${code(ticket)}/hear`,
  reject: (run: string) => `/api/runs/${code(run)}/rejects`,
  move: (run: string) => `/api/runs/${code(run)}/moves`,
  release: (run: string) => `/api/runs/${code(run)}/release`,
  pass: (run: string) => `/api/runs/${code(run)}/passed`,
  cartons: (order: string) => `/api/orders/${code(order)}/cartons`,
  close: (unit: string) => `/api/units/${code(unit)}/close`,
  open: (unit: string) => `/api/units/${code(unit)}/open`,
  pull: (order: string) => `/api/orders/${code(order)}/pull`,
  pallet: (order: string) => `/api/orders/${code(order)}/pallets`,
  ship: (shipment: string) => `/api/shipments/${code(shipment)}/ship`,
  check: "/api/ledger/check",
};

/** What a write answers: the code of what was entered and the number of its entry. */
export interface Entered {
  code: string | null;
  entry: number;
  hash: string;
}

export interface KindField {
  name: string;
  help: string;
  type: "text" | "whole" | "quantity" | "code" | "choice" | "instant" | "flag";
  required: boolean;
  refers_to: string | null;
  choices: string[];
}
export interface Kind {
  kind: string;
  help: string;
  may: boolean;
  fields: KindField[];
}

export interface Count {
  ordered: number;
  most: number;
  shipped: number;
  credited: number;
  owed: number;
  may_leave: number;
}
export interface Owed extends Count {
  packed: number;
  deliveries: (Count & { code: string; to: string; due_ms: number | null })[];
  shipments: { code: string; to: string; carrier: string | null; cartons: number; discs: number; at_ms: number }[];
}

export interface FamilyMember {
  code: string;
  kind: string;
  letter: string;
  side: string;
  parent: string | null;
  grown: number | null;
  origin: string | null;
  state: string;
  face: number;
  closings: number;
  heard: number;
  passed: number;
  last_step: { what: string; at_ms: number } | null;
}
export interface TitleParts {
  title: string;
  name: string;
  cuts: { code: string; side: string; letter: string; reference: string | null }[];
  parts: FamilyMember[];
}

export interface PartActs {
  part: string;
  title: string | null;
  state: string;
  steps: { step: string; may: boolean; state_after: string | null; why_not: string | null }[];
  grows: { kind: string; may: boolean; why_not: string | null }[];
  caution: string;
}

export interface Words {
  code: string;
  words: string;
}
export interface PressNow {
  code: string;
  name: string;
  mounting: {
    code: string;
    stamper_a: string | null;
    stamper_b: string | null;
    counter_from: number;
    counter: number;
    closings: number;
    begun_ms: number | null;
    reason: string | null;
  } | null;
  runs: {
    code: string;
    order: string;
    title: string;
    name: string;
    purpose: string;
    quantity: number;
    done: number;
    impressions: number;
    /** What it was pressed from last, or the newest of its order's material. */
    batch: string | null;
  }[];
}
export interface Presses {
  presses: PressNow[];
  ready: { code: string; letter: string; title: string; name: string; state: string }[];
  batches: Words[];
  spindles: Words[];
  caution: string;
}

export interface Stack {
  run: string;
  order: string;
  title: string;
  name: string;
  spindle: string | null;
  spindle_name: string | null;
  discs: number;
  pressed: number;
  impressions: Impressions;
  inspection: {
    code: string;
    who: string | null;
    at_ms: number;
    rejected: number;
    tallies: { reason: string; quantity: number }[];
    last: { entry: number; who: string; what: string } | null;
  } | null;
}
export interface InspectionTable {
  stacks: Stack[];
  reasons: string[];
  caution: string;
}

export interface Carton {
  code: string;
  state: string;
  capacity: number;
  discs: number;
  suspect: number;
  pallet: string | null;
  shipment: string | null;
  gross_kg: number | null;
  sscc: string | null;
}
export interface Packing {
  order: string;
  title: string;
  name: string;
  customer: string | null;
  quantity: number;
  good: number;
  packed: number;
  shipped: number;
  suspect: number;
  cartons: Carton[];
  states: { state: string; cartons: number }[];
  pallets: Row[];
  shipments: Row[];
  deliveries: Row[];
  caution: string;
}

export type NextAct = "count" | "load" | "ship" | "fill" | "order" | "look";
export interface Scanned {
  kind: string;
  code: string;
  order: string | null;
  state: string | null;
  discs: number;
  capacity: number | null;
  next: NextAct;
  words: string;
}

export interface LedgerNow {
  seq: number;
  head: string;
  impressions: number;
  counts: Counts;
  closes: boolean;
  orders: {
    code: string;
    name: string;
    quantity: number;
    impressions: number;
    counts: Counts;
    closes: boolean;
  }[];
}
export interface Spot {
  place: string;
  at: string | null;
  reason: string | null;
}
export interface Movements {
  movements: {
    id: number;
    entry: number;
    at_ms: number;
    who: string;
    what: string;
    run: string;
    impressions: Impressions;
    quantity: number;
    from: Spot;
    to: Spot;
    reverses: number | null;
  }[];
  next: number | null;
}
export interface LedgerCheck {
  state: "none" | "running" | "done";
  share: number;
  who: string | null;
  ended_ms: number | null;
  error: string | null;
  result: {
    closes: boolean;
    head: string;
    entries: number;
    rows: number;
    movements: number;
    runs: number;
    impressions: number;
    counts: Counts;
    breaks: string[];
    more_breaks: number;
  } | null;
}

export interface FlowGroup {
  kind: string;
  count: number;
  things: Words[];
}
export interface FlowNow {
  kind: string;
  code: string;
  words: string;
  before: FlowGroup[];
  after: FlowGroup[];
}
