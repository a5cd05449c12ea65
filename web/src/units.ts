// How amounts are written: a thin space before the unit, a real minus, dates as 2026-11-25 in the works' zone.
import type { Fault, HeardSide } from "./contracts";

export type UnitSystem = "metric" | "inch";
const thin = "\u2009";
const metres_per_inch = 0.0254;

/** A number with so many places; never "-0". */
export function fixed(value: number, places: number): string {
  const text = value.toFixed(places);
  return (Number(text) === 0 ? text.replace("-", "") : text).replace("-", "−");
}

export function signed(value: number, places: number): string {
  const text = fixed(value, places);
  return Number(value.toFixed(places)) > 0 ? `+${text}` : text;
}

/** Radii and diameters: 78.1 mm or 3.07 in. */
export function radius(value_m: number | null | undefined, system: UnitSystem): string {
  if (value_m === null || value_m === undefined) return "–";
  return system === "inch" ? `${fixed(value_m / metres_per_inch, 2)}${thin}in` : `${fixed(value_m * 1e3, 1)}${thin}mm`;
}

/** Offsets: 0.031 mm or 1.2 thou. */
export function small_length(value_m: number, system: UnitSystem, places = 3): string {
  return system === "inch"
    ? `${fixed((value_m / metres_per_inch) * 1e3, Math.max(places - 2, 0))}${thin}thou`
    : `${fixed(value_m * 1e3, places)}${thin}mm`;
}

export function decibel(value_dB: number | null | undefined, places = 1): string {
  return value_dB === null || value_dB === undefined ? "–" : `${fixed(value_dB, places)}${thin}dB`;
}

export function signed_decibel(value_dB: number, places = 1): string {
  return `${signed(value_dB, places)}${thin}dB`;
}

export function per_cent(share: number, places = 0): string {
  return `${fixed(share * 100, places)}${thin}%`;
}

/** A probability in words of figures: never 0 or 100. */
export function chance(share: number): string {
  if (share > 0.99) return `>${thin}99${thin}%`;
  return share < 0.01 ? `<${thin}1${thin}%` : per_cent(share);
}

export function degrees(angle_deg: number | null | undefined): string {
  if (angle_deg === null || angle_deg === undefined) return "–";
  const whole = Math.round(angle_deg) % 360;
  return `${whole < 0 ? whole + 360 : whole}°`;
}

/** 3:42.125 */
export function clock_ms(time_s: number): string {
  const total_ms = Math.round(Math.abs(time_s) * 1e3);
  const pad = (value: number, width: number) => String(value).padStart(width, "0");
  const sign = time_s < 0 && total_ms > 0 ? "−" : "";
  return `${sign}${Math.floor(total_ms / 60000)}:${pad(Math.floor(total_ms / 1000) % 60, 2)}.${pad(total_ms % 1000, 3)}`;
}

/** 3:42 */
export function clock_s(time_s: number): string {
  const total_s = Math.round(Math.abs(time_s));
  const sign = time_s < 0 && total_s > 0 ? "−" : "";
  return `${sign}${Math.floor(total_s / 60)}:${String(total_s % 60).padStart(2, "0")}`;
}

/** 2026-11-25 14:05 in the works' zone; an instant that cannot be read is given back as it came. */
export function instant(at: string | number, zone: string): string {
  const date = new Date(at);
  if (Number.isNaN(date.getTime())) return String(at);
  let parts: Intl.DateTimeFormatPart[];
  const asked: Intl.DateTimeFormatOptions = {
    year: "numeric",
    month: "2-digit",
    day: "2-digit",
    hour: "2-digit",
    minute: "2-digit",
    hourCycle: "h23",
  };
  try {
    parts = new Intl.DateTimeFormat("en-GB", { ...asked, timeZone: zone }).formatToParts(date);
  } catch {
    parts = new Intl.DateTimeFormat("en-GB", { ...asked, timeZone: "UTC" }).formatToParts(date);
  }
  const of = (type: string) => parts.find((part) => part.type === type)?.value ?? "";
  return `${of("year")}-${of("month")}-${of("day")} ${of("hour")}:${of("minute")}`;
}

export function count(n: number, one: string, many = `${one}s`): string {
  return `${n.toLocaleString("en-GB").replaceAll(",", "\u202f")} ${n === 1 ? one : many}`;
}

/** "1 sample disc to be heard", "3 sample discs to be heard": words in the plural as the server has them. */
export function counted(n: number, words: string): string {
  return `${n} ${n === 1 ? words.replace(/\b(disc|part|batch|order|carton)(es|s)\b/, "$1") : words}`;
}

/** A field of the report as people say it: "wow.out_of_round_m" is "Wow, out of round". */
export function field_words(field: string): string {
  const said = field
    .split(".")
    .map((one) => one.replace(/_(dB_per_m|dB|ppm|Hz|deg|m|s)$/, "").replaceAll("_", " "))
    .filter((one, i, all) => i === all.length - 1 || !(all[i + 1] as string).startsWith(one));
  return capital(said.join(", "));
}

export function bytes(size: number): string {
  return size >= 1e9 ? `${fixed(size / 1e9, 2)}${thin}GB` : `${fixed(size / 1e6, size < 1e7 ? 1 : 0)}${thin}MB`;
}

export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** What the report says of the side as a whole, in shape and word. */
export type Standing = "good" | "out" | "not_this_cut" | "unjudged";

export function standing(report: HeardSide): Standing {
  if (report.alignment && !report.alignment.found) return "not_this_cut";
  if (!report.alignment && report.verdict.reasons.length === 0) return "unjudged";
  return report.verdict.pass ? "good" : "out";
}

export const standing_words: Record<Standing, string> = {
  good: "Within limits",
  out: "Outside limits",
  not_this_cut: "Not this cut",
  unjudged: "Heard without its cut",
};

/** Indices of faults, worst first: what leaves the groove, then by audibility and loudness. */
export function worst_first(faults: readonly Fault[]): number[] {
  const order = { plain: 0, slight: 1, masked: 2 };
  const leaves = (fault: Fault) => (fault.kind === "jump" || fault.kind === "repeat" ? 0 : 1);
  return faults
    .map((_, i) => i)
    .sort((i, j) => {
      const a = faults[i] as Fault,
        b = faults[j] as Fault;
      return (
        leaves(a) - leaves(b) ||
        order[a.audibility] - order[b.audibility] ||
        b.peak_dB - a.peak_dB ||
        a.capture_s - b.capture_s
      );
    });
}

export function file_name(path: string): string {
  return path.slice(path.lastIndexOf("/") + 1);
}

/** A value of the record as text; what is not known is empty. */
export const text_of = (value: unknown): string => (value === null || value === undefined ? "" : String(value));
