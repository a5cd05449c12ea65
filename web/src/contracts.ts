// The contracts goodside.listen/1 and goodside.trace/1 as the server sends them: SI units with the suffix in the name,
// dB, ppm and degrees excepted. `null` is a measure that cannot be known.

export type FaultKind = "tick" | "pop" | "burst" | "dropout" | "jump" | "repeat" | "clip";
export type PatternKind = "radial" | "arc" | "patch" | "scatter" | "echo";
export type Audibility = "plain" | "slight" | "masked";

export interface Fault {
  id: number;
  kind: FaultKind;
  capture_s: number;
  programme_s: number | null;
  revolution: number | null;
  angle_deg: number | null;
  angle_sigma_deg: number | null;
  radius_m: number | null;
  radius_sigma_m: number | null;
  duration_s: number;
  peak_dB: number;
  excess_dB: number;
  channel: "left" | "right" | "both";
  plane: "lateral" | "vertical" | "mixed";
  audibility: Audibility;
  margin_dB?: number | null;
  pattern: number | null;
  programme_jump_s?: number | null;
  nature?: "non-fill" | "dirt" | null;
  nature_probability?: number | null;
}

export interface Pattern {
  id: number;
  kind: PatternKind;
  faults: number[];
  first_revolution: number;
  last_revolution: number;
  angle_deg: number | null;
  angle_span_deg: number | null;
  nature?: "non-fill" | "dirt" | null;
}

export interface PolarMap {
  revolutions_per_row: number;
  columns: number;
  rows: number;
  reference: string;
  dB: (number | null)[][];
}

export interface ThirdOctave {
  centre_Hz: number;
  left_dB: number;
  right_dB: number;
  sigma_dB?: number | null;
}

/** The side as drawn: groove, edge, label, hole. */
export interface Shape {
  format: string;
  rpm: number;
  outer_radius_m: number;
  inner_radius_m: number;
  pitch_m: number;
  edge_radius_m: number;
  label_radius_m: number;
  hole_radius_m: number;
}

/** What the bench draws of one heard side: goodside.listen/1, the wow curve thinned, in one answer of the server. */
export interface HeardSide {
  report: string;
  shape: Shape;
  duration_s: number;
  programme_start_s: number | null;
  programme_end_s: number | null;
  heard: [number, number][];
  faults: Fault[];
  patterns: Pattern[];
  polar: PolarMap | null;
  offset: {
    eccentricity_m: number | null;
    eccentricity_sigma_m: number | null;
    eccentricity_direction_deg: number | null;
  };
  verdict: { pass: boolean; limits: string; reasons: Reason[] };
  alignment: {
    found: boolean;
    programme_start_s: number;
    programme_end_s: number;
    programme_sigma_s: number;
    speed_error_ppm: number;
    drive_error_ppm: number | null;
    gain_dB: number;
    polarity: number;
    channels: string;
    confidence: number;
  } | null;
  levels: {
    third_octave: ThirdOctave[];
    balance_dB: number | null;
    separation_dB: number | null;
    high_loss_dB_per_m: number | null;
  };
  wow: {
    arm_corrected?: boolean;
    once_per_rev_peak: { outer: number; inner: number } | null;
    weighted_2sigma: number | null;
    curve: { time_s: number[]; deviation: number[] } | null;
  };
  noise: {
    weighted_dB: number | null;
    weighted_reference?: string;
    rumble_dB: number | null;
    rumble_reference?: string;
    hum_dB: number | null;
    hum_reference?: string;
    echo?: { lead_dB: number | null; lag_dB: number | null };
  };
  undetermined: { field: string; why: string }[];
  remarks: string[];
}

export interface Reason {
  rule: string;
  value: number;
  limit: number;
  text: string;
}

export type CauseLevel = "cut" | "father" | "mother" | "stamper" | "mounting" | "press" | "batch" | "disc" | "dust";

export interface Credible {
  low: number;
  high: number;
  best: number;
}

export interface Cause {
  level: CauseLevel;
  id: string | null;
  posterior: number;
  onset: Credible | null;
  onset_grown?: Credible | null;
  since_birth?: number;
  /** The first impression without it, where it has ceased. */
  end: (Credible & { probability: number }) | null;
  same_discs?: string[];
  posterior_with_same?: number;
}

export type Impressions = [number, number];

export interface NextAct {
  act: string;
  disc: string | null;
  part: string | null;
  carton: string | null;
  spindle: string | null;
  impression?: number | Impressions | null;
  where: string;
  minutes: number;
  gain_bits: number;
  about?: number[];
  caution?: string;
}

export interface RecurringFault {
  id: number;
  side: "A" | "B";
  programme_s: number;
  programme_sigma_s: number;
  kind: FaultKind;
  pattern: PatternKind | null;
  places?: number;
  revolution?: number | null;
  angle_deg?: number | null;
  radius_m?: number | null;
  audibility: Audibility;
  on: string[];
  heard: number;
  /** Discs that were heard, but not at this place. */
  not_heard?: string[];
  detection: number;
  chance: number;
  cause: Cause;
  alternatives: Cause[];
  suspect: { impressions: Impressions[]; discs: number; flawed: number; cartons: string[]; spindles: string[] };
  next: NextAct[];
  hearings_needed?: number;
  action: { text: string; cost: number; caution?: string };
  open: boolean;
}

export interface TraceReport {
  schema: string;
  recurring: RecurringFault[];
  next: NextAct[];
  false_discovery_rate?: number;
  discs_heard?: number;
  reports?: number;
  faults?: number;
  refused: { what: string; why: string }[];
  remarks?: string[];
}
