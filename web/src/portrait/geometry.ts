import type { Shape } from "../contracts";

/** Which face is looked at. Disc and mother lie as heard; stamper and father are their mirror images. */
export type View = "disc" | "mother" | "stamper" | "father";
export const views: readonly View[] = ["disc", "mother", "stamper", "father"];

export const is_mirrored = (view: View) => view === "stamper" || view === "father";
export const is_metal = (view: View) => view !== "disc";

export interface Point {
  x: number;
  y: number;
}

/**
 * Where a place of the groove lies on the page. A disc turns clockwise under the stylus, so the groove's angle grows
 * counter-clockwise on a disc and clockwise on the mirrored metal:
 *   x = centre.x -+ s r sin(angle - landmark),  y = centre.y - s r cos(angle - landmark)
 * with the minus for disc and mother. The landmark's angle is at the top.
 */
export interface DiscView {
  view: View;
  centre: Point;
  units_per_m: number;
  landmark_angle_deg: number;
}

/** The direction of a groove angle on the page: radians, clockwise from the x axis. */
export function page_angle_rad(view: DiscView, angle_deg: number): number {
  const turned = ((angle_deg - view.landmark_angle_deg) * Math.PI) / 180;
  return -Math.PI / 2 + (is_mirrored(view.view) ? turned : -turned);
}

export function place(view: DiscView, radius_m: number, angle_deg: number): Point {
  const angle = page_angle_rad(view, angle_deg),
    radius = radius_m * view.units_per_m;
  return { x: view.centre.x + radius * Math.cos(angle), y: view.centre.y + radius * Math.sin(angle) };
}

/** The groove angle, 0 to 360, and the radius under a point of the page: the inverse of `place`. */
export function groove_place(view: DiscView, at: Point): { radius_m: number; angle_deg: number } {
  const dx = at.x - view.centre.x,
    dy = at.y - view.centre.y;
  const turned = ((Math.atan2(dy, dx) + Math.PI / 2) * 180) / Math.PI;
  const angle = (is_mirrored(view.view) ? turned : -turned) + view.landmark_angle_deg;
  return { radius_m: Math.hypot(dx, dy) / view.units_per_m, angle_deg: ((angle % 360) + 360) % 360 };
}

/** The side with its pitch filled in where the programme's length tells it. */
export function with_pitch(side: Shape, programme_length_s: number): Shape {
  const turns = (programme_length_s * side.rpm) / 60;
  const mean = turns > 0 ? (side.outer_radius_m - side.inner_radius_m) / turns : 0;
  return { ...side, pitch_m: side.pitch_m > 0 ? side.pitch_m : mean };
}

/** The groove's radius at a revolution from programme start, by the mean pitch, held within the recorded band. */
export function groove_radius_m(side: Shape, revolution: number): number {
  const radius_m = side.outer_radius_m - revolution * side.pitch_m;
  return Math.min(Math.max(radius_m, Math.min(side.inner_radius_m, side.outer_radius_m)), side.outer_radius_m);
}

/** Where the groove is at a programme time: `revolution` and `angle_deg` as the listening contract defines them. */
export function groove_at(side: Shape, programme_s: number) {
  const turns = (programme_s * side.rpm) / 60;
  const revolution = Math.floor(turns);
  return { revolution, angle_deg: 360 * (turns - revolution), radius_m: groove_radius_m(side, turns) };
}

/** Half the size of a mark in page units: 3.5 at -40 dB and below, 10 at 0 dB (full scale of the programme). */
export function mark_radius(peak_dB: number): number {
  return 3.5 + 6.5 * Math.min(Math.max((peak_dB + 40) / 40, 0), 1);
}

/** Marks shrink when there are more than the disc has room for. */
export function crowding(faults: number): number {
  return Math.min(Math.max(Math.sqrt(120 / Math.max(1, faults)), 0.45), 1);
}
