// The server's answers, as its API file describes them, and the one way to ask for them.
import { capital } from "./units";
import type { Audibility, FaultKind, HeardSide, Impressions, Shape, TraceReport } from "./contracts";

export type Role = "viewer" | "listener" | "station" | "engineer" | "clerk";

export interface Session {
  signed_in: boolean;
  first_start: boolean;
  name: string | null;
  roles: Role[];
  csrf: string | null;
  expires_ms: number | null;
}

export interface Account {
  name: string;
  roles: Role[];
  disabled: boolean;
  made_ms: number;
  last_seen_ms: number | null;
}

/** A row of the record: its code and the fields that it has. */
export interface Row {
  code: string;
  [field: string]: unknown;
}

export type Counts = Record<
  "pressed" | "edge_finished" | "in_sample" | "good_stock" | "suspect" | "packed" | "shipped" | "scrap" | "unaccounted",
  number
>;

export interface HeardCounts {
  waiting: number;
  good: number;
  bad: number;
}

export interface OrderStanding {
  code: string;
  title: string;
  name: string;
  artist: string | null;
  format: string | null;
  material: string | null;
  quantity: number;
  due_ms: number | null;
  customer: string | null;
  impressions: number;
  counts: Counts;
  heard: HeardCounts;
  done: number;
  open: boolean;
  late: boolean;
}

export type StationName = "metal" | "compound" | "press" | "bench" | "store" | "dispatch";

export interface LineNow {
  works: string;
  zone: string;
  seq: number;
  stations: {
    station: StationName;
    waiting: number;
    waiting_for: string;
    state: "good" | "out" | "suspect" | "unknown";
    detail: string[];
  }[];
  orders: OrderStanding[];
  open_orders: number;
}

export interface Hit {
  kind: string;
  code: string;
  label: string;
  detail: string;
}

export interface Holding {
  place: string;
  impressions: Impressions;
  quantity: number;
  run?: string;
  at?: string;
  reason?: string;
  sure?: boolean;
}

export interface Play {
  report: string;
  capture: string;
  ticket: string;
  run: string;
  title: string;
  side: string | null;
  letter: string;
  stamper: string | null;
  mounting: string | null;
  impression: Impressions;
  title_impression: Impressions | null;
  play: number;
  after: string;
  pass: boolean;
  plain: number;
  slight: number;
  eccentricity_m: number | null;
  weighted_noise_dB: number | null;
  limits: string;
  at_ms: number;
}

export interface SheetFault {
  id: number | null;
  kind: FaultKind;
  audibility: Audibility;
  programme_s: number | null;
  angle_deg: number | null;
  radius_m: number | null;
  excess_dB: number | null;
}

export interface Sheet {
  side: string;
  shape: Shape | null;
  plays: { play: Play; faults: SheetFault[]; fault_count: number; not_heard: [number, number][] }[];
  total: number;
  next: string | null;
}

export interface StamperHeard {
  stamper: string | null;
  plays: number;
  passed: number;
  plain: number;
  slight: number;
  closings: number;
  last_ms: number | null;
}

export interface SideStanding {
  code: string;
  title: string;
  name: string;
  artist: string | null;
  letter: string;
  format: string | null;
  plays: number;
  passed: number;
  last_ms: number | null;
}

export interface Side {
  side: Row;
  title: Row;
  cuts: Row[];
  shape: Shape | null;
  plays: number;
  passed: number;
  stampers: StamperHeard[];
}

export interface Opinion {
  code: string;
  who: string;
  at_ms: number;
  fault: number | null;
  opinion: "agree" | "disagree" | "added";
  programme_s: number | null;
  capture_s: number | null;
  what: string | null;
  words: string | null;
}

export interface Opinions {
  opinions: Opinion[];
  agreed: number;
  disagreed: number;
  added: number;
  not_judged: number;
}

export type Sound = "capture" | "cut" | "difference";

export interface Heard {
  play: Play;
  /** Of the title. */
  name: string;
  disc: { run: string; impression: Impressions; ticket: string };
  previous: string | null;
  next: string | null;
  audio: Record<Sound, boolean> & { duration_s: number; why: string | null };
  /** What the plots draw as limits; null where the works judges by others now. */
  limits: {
    eccentricity_m: number | null;
    once_per_rev_peak: number | null;
    level_deviation_dB: number | null;
  } | null;
  opinions: Opinions;
}

export interface FamilyPart {
  id: string;
  kind: "cut" | "father" | "mother" | "stamper";
  parent: string | null;
  grown: number | null;
}

export interface FamilyDisc {
  id: string;
  run: string;
  impression: Impressions | null;
  stamper: string | null;
  mounting: string | null;
  fetchable: boolean;
  heard: "waiting" | "good" | "bad";
  report: string | null;
}

export interface Family {
  side: string;
  parts: FamilyPart[];
  mountings: { id: string; stamper: string | null; press: string | null; impressions: Impressions | null }[];
  discs: FamilyDisc[];
  impressions: number;
}

export interface Trace {
  side: string;
  state: "current" | "stale" | "making" | "failed" | "nothing heard";
  as_of_seq: number | null;
  job: string | null;
  error: string | null;
  trace: TraceReport | null;
}

export interface RunStanding {
  run: Row;
  impressions: number;
  counts: Counts;
  heard: HeardCounts;
}

export interface Title {
  title: Row;
  sides: SideStanding[];
  orders: OrderStanding[];
  runs: RunStanding[];
  run_count: number;
}

export interface Order {
  order: Row;
  standing: OrderStanding;
  approvals: Row[];
  runs: RunStanding[];
  run_count: number;
}

export interface Part {
  part: Row;
  ancestors: Row[];
  children: Row[];
  steps: { step: Row; readings: Row[] }[];
  mountings: { mounting: Row; closings: number }[];
  closings: number;
  heard: StamperHeard | null;
}

export interface Run {
  run: Row;
  order: Row;
  title: Row;
  press: Row | null;
  impressions: number;
  counts: Counts;
  heard: HeardCounts;
  pressings: Row[];
  tickets: Row[];
  ticket_count: number;
  stock: Holding[];
  holds: { entry: number; at_ms: number; who: string }[];
}

export interface Disc {
  impression: number;
  title_impression: number | null;
  run: Row;
  order: Row;
  title: Row;
  pressing: Row;
  mounting: Row | null;
  press: Row | null;
  recipe: Row | null;
  batch: Row | null;
  lots: Row[];
  side_a: Row[];
  side_b: Row[];
  age_a: number;
  age_b: number;
  tickets: Row[];
  plays: Play[];
  now: Holding[];
}

export interface Thing {
  kind: string;
  row: Row;
  named_by: { kind: string; field: string; count: number; rows: Row[] }[];
}

export interface Ticket {
  ticket: Row;
  title: string;
  name: string;
}

export interface Upload {
  id: string;
  name: string;
  ticket: string;
  letter: string;
  bytes: number;
  offset: number;
  who: string;
  at_ms: number;
  job: string | null;
}

export interface Job {
  id: string;
  kind: "hear" | "trace";
  state: "queued" | "running" | "done" | "failed" | "cancelled";
  share: number;
  what: string;
  ticket: string | null;
  letter: string | null;
  side: string | null;
  who: string;
  at_ms: number;
  began_ms: number | null;
  ended_ms: number | null;
  attempts: number;
  error: string | null;
  report: string | null;
  pass: boolean | null;
}

/** A side being recorded at the bench; levels are dB re full scale. */
export interface Recording {
  id: string;
  state: "settling" | "waiting" | "recording" | "finishing" | "held" | "sent";
  who: string;
  at_ms: number;
  device: string;
  ticket: string;
  letter: string;
  after: string;
  bench: string | null;
  title: string;
  programme_s: number | null;
  sample_rate_Hz: number;
  channels: number;
  recorded_s: number;
  kept_s: number;
  silent_s: number;
  floor_dB: number | null;
  peak_dB: number[];
  highest_dB: number[];
  clipped: number;
  overruns_s: number[];
  false_starts: number;
  ended: "lifted" | "locked groove" | "too long" | "by hand" | null;
  error: string | null;
  job: string | null;
}

export interface Device {
  name: string;
  words: string | null;
}

export interface RecordState {
  record: { seq: number; hash: string };
  jobs: number;
  now_ms: number;
}

export interface Event {
  seq: number;
  at_ms: number;
  who: string;
  what: string;
  subject: string;
  reverses: number | null;
  hash: string;
}

/** What the server refuses, in its own sentence; `status` 0: it was not reached. */
export class ApiError extends Error {
  constructor(
    readonly status: number,
    message: string,
    readonly retry_after_s: number | null = null,
  ) {
    super(message);
    this.name = "ApiError";
  }
}

const unreachable = "The server does not answer. Is goodside serve running? The page tries again by itself.";

async function error_of(answer: Response): Promise<ApiError> {
  const after = Number(answer.headers.get("Retry-After"));
  const retry_s = Number.isFinite(after) && after > 0 ? after : null;
  try {
    const { error } = (await answer.json()) as { error?: unknown };
    if (typeof error === "string" && error !== "") return new ApiError(answer.status, capital(error), retry_s);
  } catch {
    // Not our JSON, such as a proxy's page: the status alone is told.
  }
  return new ApiError(answer.status, `The server answered ${answer.status} without a reason.`, retry_s);
}

/** Asks the server: keeps the CSRF token, and the newest answer of each GET with its ETag. */
export class Api {
  private csrf: string | null = null;
  private readonly kept = new Map<string, { etag: string; body: unknown }>();
  on_signed_out: () => void = () => {};

  constructor(
    private readonly ask: (path: string, init: RequestInit) => Promise<Response> = (path, init) => fetch(path, init),
  ) {}

  take_session(session: Session): Session {
    this.csrf = session.csrf;
    return session;
  }

  private async send(path: string, init: RequestInit): Promise<Response> {
    let answer: Response;
    try {
      answer = await this.ask(path, { credentials: "same-origin", ...init });
    } catch (cause) {
      if (cause instanceof DOMException && cause.name === "AbortError") throw cause;
      throw new ApiError(0, unreachable);
    }
    if (answer.status === 401 && path !== "/api/sign-in") this.on_signed_out();
    return answer;
  }

  /** A GET; the same object as before where nothing changed, so that nothing is drawn anew. */
  async get<T>(path: string, signal?: AbortSignal): Promise<T> {
    const before = this.kept.get(path);
    const headers: Record<string, string> = before ? { "If-None-Match": before.etag } : {};
    const answer = await this.send(path, { headers, cache: "no-store", ...(signal ? { signal } : {}) });
    if (answer.status === 304 && before) return before.body as T;
    if (!answer.ok) throw await error_of(answer);
    const body = (await answer.json()) as T;
    const etag = answer.headers.get("ETag");
    if (etag) {
      if (this.kept.size > 200) this.kept.clear();
      this.kept.set(path, { etag, body });
    }
    return body;
  }

  /** The answer kept from before, for a first picture without waiting. */
  peek<T>(path: string): T | null {
    return (this.kept.get(path)?.body as T | undefined) ?? null;
  }

  async post<T>(path: string, body: unknown = {}, method = "POST"): Promise<T> {
    return this.write<T>(path, method, JSON.stringify(body), { "Content-Type": "application/json" });
  }

  async write<T>(
    path: string,
    method: string,
    body: BodyInit | null,
    headers: Record<string, string>,
    signal?: AbortSignal,
  ): Promise<T> {
    const token: Record<string, string> = this.csrf ? { "X-CSRF-Token": this.csrf } : {};
    const answer = await this.send(path, {
      method,
      body,
      headers: { ...headers, ...token },
      ...(signal ? { signal } : {}),
    });
    if (!answer.ok) throw await error_of(answer);
    return (answer.status === 204 ? undefined : await answer.json()) as T;
  }

  async bytes(path: string, signal?: AbortSignal): Promise<ArrayBuffer> {
    const answer = await this.send(path, signal ? { signal } : {});
    if (!answer.ok) throw await error_of(answer);
    return answer.arrayBuffer();
  }
}

export const api = new Api();

const code = encodeURIComponent;
export const path = {
  line: "/api/line",
  search: (q: string) => `/api/search?q=${code(q)}`,
  title: (id: string) => `/api/titles/${code(id)}`,
  order: (id: string) => `/api/orders/${code(id)}`,
  part: (id: string) => `/api/parts/${code(id)}`,
  run: (id: string) => `/api/runs/${code(id)}`,
  disc: (run: string, impression: string | number) => `/api/discs/${code(run)}/${impression}`,
  thing: (id: string) => `/api/things/${code(id)}`,
  sides: "/api/sides?limit=100",
  side: (id: string) => `/api/sides/${code(id)}`,
  plays: (side: string, order: "impression" | "newest", limit = 200) =>
    `/api/sides/${code(side)}/plays?order=${order}&limit=${limit}`,
  sheet: (side: string, stamper: string | null, after: string | null) =>
    `/api/sides/${code(side)}/sheet?limit=60${stamper ? `&stamper=${code(stamper)}` : ""}${after ? `&after=${code(after)}` : ""}`,
  family: (side: string) => `/api/sides/${code(side)}/family`,
  trace: (side: string) => `/api/sides/${code(side)}/trace`,
  heard: (report: string) => `/api/plays/${code(report)}`,
  portrait: (report: string) => `/api/plays/${code(report)}/portrait`,
  report: (report: string) => `/api/plays/${code(report)}/report`,
  picture: (report: string, view: string, format: "SVG" | "PNG" | "PDF") =>
    `/api/plays/${code(report)}/picture?view=${view}&format=${format.toLowerCase()}`,
  strip: (report: string, format: "SVG" | "PNG" | "PDF") =>
    `/api/plays/${code(report)}/picture?of=strip&format=${format.toLowerCase()}`,
  opinions: (report: string) => `/api/plays/${code(report)}/opinions`,
  take_back: (report: string, opinion: string) => `/api/plays/${code(report)}/opinions/${code(opinion)}/undo`,
  audio: (report: string, sound: Sound, from_s: number, to_s: number) =>
    `/api/plays/${code(report)}/audio?sound=${sound}&from_s=${from_s.toFixed(6)}&to_s=${to_s.toFixed(6)}`,
  tickets: "/api/tickets?limit=200",
  jobs: "/api/jobs?limit=50",
  uploads: "/api/uploads",
  recordings: "/api/recordings",
  devices: "/api/recordings/devices",
  recording: (id: string, act = "") => `/api/recordings/${code(id)}${act}`,
  accounts: "/api/accounts",
};

export type { HeardSide };
