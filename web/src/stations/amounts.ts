import { fixed as written, radius, type UnitSystem } from "../units";

const thin = "\u2009";

/** So many places; what is not known is a dash. */
export const fixed = (value: number | null | undefined, places: number): string =>
  value === null || value === undefined ? "–" : written(value, places);

/** Thicknesses and offsets: 250.0 µm, 1.80 mm, 320 mm; or thou and inches. */
export function length(value_m: number | null | undefined, system: UnitSystem): string {
  if (value_m === null || value_m === undefined) return "–";
  const size = Math.abs(value_m);
  if (system === "inch")
    return size < 2.54e-3
      ? `${fixed(value_m / 25.4e-6, 2)}${thin}thou`
      : `${fixed(value_m / 0.0254, size < 0.1 ? 3 : 2)}${thin}in`;
  if (size < 1e-3) return `${fixed(value_m * 1e6, 1)}${thin}µm`;
  return size < 0.02 ? `${fixed(value_m * 1e3, 2)}${thin}mm` : radius(value_m, system);
}

export function time(value_s: number | null | undefined): string {
  if (value_s === null || value_s === undefined) return "–";
  if (value_s < 180) return `${fixed(value_s, 1)}${thin}s`;
  if (value_s < 7200) return `${fixed(value_s / 60, 1)}${thin}min`;
  return value_s < 172800 ? `${fixed(value_s / 3600, 2)}${thin}h` : `${fixed(value_s / 86400, 1)}${thin}d`;
}

export function mass(value_kg: number | null | undefined): string {
  if (value_kg === null || value_kg === undefined) return "–";
  const size = Math.abs(value_kg);
  if (size < 1e-3) return `${fixed(value_kg * 1e6, 1)}${thin}mg`;
  return size < 1
    ? `${fixed(value_kg * 1e3, 1)}${thin}g`
    : `${fixed(value_kg, size < 10 ? 3 : size < 100 ? 2 : 1)}${thin}kg`;
}

export const celsius = (value_K: number | null | undefined): string =>
  value_K === null || value_K === undefined ? "–" : `${fixed(value_K - 273.15, 1)}${thin}°C`;

/** A share as per cent with as many places as it needs. */
export function share(value: number | null | undefined): string {
  if (value === null || value === undefined) return "–";
  const size = Math.abs(value);
  return `${fixed(value * 100, size >= 0.1 || size === 0 ? 1 : size >= 0.001 ? 2 : 4)}${thin}%`;
}

export const number = (value: number | null | undefined, places = 0, unit = ""): string =>
  value === null || value === undefined
    ? "–"
    : `${value.toLocaleString("en-GB", { minimumFractionDigits: places, maximumFractionDigits: places }).replaceAll(",", "\u202f").replace("-", "−")}${unit ? thin + unit : ""}`;

/** A small chance as people say it: 1 in 33 000. */
export function odds(value: number | null | undefined): string {
  if (value === null || value === undefined) return "–";
  if (value < 1e-6) return "fewer than 1 in a million";
  if (value >= 0.005) return share(value);
  return `1 in ${number(Number((1 / value).toPrecision(2)))}`;
}

/** 2026-11-25 14:30 of a clock that counts seconds since 1970 by itself. */
export function on_clock(seconds: number): string {
  const date = new Date(Math.round(seconds) * 1000);
  return Number.isNaN(date.getTime()) ? "–" : date.toISOString().slice(0, 16).replace("T", " ");
}
