import type { ComponentChildren } from "preact";
import type { Row } from "../api";
import { href } from "../router";
import { use_settings } from "../settings";
import { fixed, instant, per_cent, radius, small_length, type UnitSystem } from "../units";

/** Fields that name another row, and the page of it. */
const pages: Record<string, string> = {
  title: "title",
  orders: "order",
  order: "order",
  run: "run",
  part: "part",
  parent: "part",
  stamper_a: "part",
  stamper_b: "part",
  side: "side",
};
const others = new Set([
  "press",
  "batch",
  "mounting",
  "carton",
  "cut",
  "spindle",
  "shipment",
  "pallet",
  "recipe",
  "ticket",
  "capture",
  "report",
]);

export function link_to(field: string, code: string): string | null {
  if (field === "report") return href("bench", code);
  const page = pages[field];
  return page ? href(page, code) : others.has(field) ? href("thing", code) : null;
}

/** A value of the record with its unit: the suffix of the field's name tells it. */
export function show_value(field: string, value: unknown, zone: string, system: UnitSystem): string {
  if (value === null || value === undefined) return "–";
  if (typeof value === "number") {
    if (field.endsWith("_ms") || field === "at") return instant(value, zone);
    if (field.endsWith("radius_m")) return radius(value, system);
    if (field.endsWith("_m"))
      return Math.abs(value) < 0.05 ? small_length(value, system) : `${fixed(value * 1e3, 1)}\u2009mm`;
    if (field.endsWith("_kg")) return `${fixed(value, value < 1 ? 3 : 1)}\u2009kg`;
    if (field.endsWith("_K")) return `${fixed(value - 273.15, 1)}\u2009°C`;
    if (field.endsWith("_Pa")) return `${fixed(value / 1e5, 2)}\u2009bar`;
    if (field.endsWith("_s")) return `${fixed(value, 1)}\u2009s`;
    if (field.endsWith("_dB")) return `${fixed(value, 1)}\u2009dB`;
    if (field === "rpm" || field.endsWith("_rpm")) return `${Number(value.toFixed(2))}\u2009rpm`;
    if (field.endsWith("_fraction")) return per_cent(value, 1);
    return String(value);
  }
  if (typeof value === "boolean") return value ? "yes" : "no";
  return typeof value === "object" ? JSON.stringify(value) : String(value);
}

export function field_words(field: string): string {
  if (field === "event") return "entry";
  return field.replace(/_(m|ms|kg|K|Pa|s|dB|rpm|A|V|C|m2)$/, "").replaceAll("_", " ");
}

export function Value({ field, value }: { field: string; value: unknown }): ComponentChildren {
  const { zone, system } = use_settings();
  const text = show_value(field, value, zone, system);
  const to = typeof value === "string" ? link_to(field, value) : null;
  return to ? <a href={to}>{text}</a> : text;
}

/** What a row says of itself, without its code and without what is not known. */
export function Fields({ row, leave_out = [] }: { row: Row; leave_out?: readonly string[] }) {
  const shown = Object.entries(row).filter(
    ([field, value]) =>
      field !== "code" &&
      field !== "id" &&
      field !== "uid" &&
      !leave_out.includes(field) &&
      value !== null &&
      value !== "",
  );
  return (
    <dl class="figures">
      {shown.map(([field, value]) => (
        <>
          <dt>{field_words(field)}</dt>
          <dd>
            <Value field={field} value={value} />
          </dd>
        </>
      ))}
    </dl>
  );
}
