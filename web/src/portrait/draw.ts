import { amount_rgb, css_of, type Palette } from "../colours";
import type { Fault, FaultKind, HeardSide, Pattern, Shape } from "../contracts";
import { round_scale, type Scale, share } from "../scale";
import { clock_s, degrees, radius, standing, small_length, type UnitSystem, worst_first } from "../units";
import {
  crowding,
  type DiscView,
  groove_radius_m,
  is_metal,
  is_mirrored,
  mark_radius,
  page_angle_rad,
  place,
  type Point,
  type View,
  with_pitch,
} from "./geometry";

const turn = 2 * Math.PI;
export const listed_faults = 7;

export interface PortraitOptions {
  view: View;
  landmark_angle_deg: number;
  shrinkage: number;
  system: UnitSystem;
  /** CSS pixels: the height, and the width, which may leave room for words beside the disc. */
  size: number;
  width: number;
}

/** What the parts of one portrait share. */
export interface Sitting {
  report: HeardSide;
  options: PortraitOptions;
  side: Shape;
  view: DiscView;
  worst: number[];
  noise_scale: Scale | null;
  offset_magnification: number;
}

function programme_length_s(report: HeardSide): number {
  return report.heard.reduce(
    (most, [, to_s]) => Math.max(most, to_s),
    (report.programme_end_s ?? 0) - (report.programme_start_s ?? 0),
  );
}

/** Ends that leave out the loudest and the quietest fiftieth of the cells. */
export function noise_scale(report: HeardSide): Scale | null {
  const known = (report.polar?.dB ?? []).flat().filter((cell): cell is number => cell !== null);
  if (known.length === 0) return null;
  known.sort((a, b) => a - b);
  const edge = Math.floor(known.length / 50);
  const least = known[edge] as number,
    most = known[known.length - 1 - edge] as number;
  const spare = Math.max(0, 6 - (most - least)) / 2;
  return round_scale(least - spare, most + spare);
}

/** The largest round enlargement that keeps arrow and ring inside the label. */
export function offset_magnification(report: HeardSide): number {
  const { eccentricity_m, eccentricity_sigma_m, eccentricity_direction_deg } = report.offset;
  if (eccentricity_m === null || eccentricity_direction_deg === null) return 0;
  const reach_m = eccentricity_m + 2 * (eccentricity_sigma_m ?? 0);
  if (!(reach_m > 0)) return 0;
  const most = Math.min((report.shape.label_radius_m * 0.8) / reach_m, 1000);
  const power = 10 ** Math.floor(Math.log10(most));
  return ([5, 2, 1].find((factor) => factor * power <= most) ?? 1) * power;
}

export function sit(report: HeardSide, options: PortraitOptions): Sitting {
  const margin = 34;
  return {
    report,
    options,
    side: with_pitch(report.shape, programme_length_s(report)),
    view: {
      view: options.view,
      centre: { x: options.width / 2, y: options.size / 2 },
      units_per_m: (options.size / 2 - margin) / report.shape.edge_radius_m,
      landmark_angle_deg: options.landmark_angle_deg,
    },
    worst: worst_first(report.faults),
    noise_scale: noise_scale(report),
    offset_magnification: offset_magnification(report),
  };
}

export function has_place(fault: Fault): fault is Fault & { radius_m: number; angle_deg: number } {
  return fault.radius_m !== null && fault.angle_deg !== null;
}

export function mark_of(sitting: Sitting, fault: Fault & { radius_m: number; angle_deg: number }) {
  const at = place(sitting.view, fault.radius_m, fault.angle_deg);
  // On paper the disc has a radius of 312 units; marks shrink and grow with it, as far as they stay legible.
  const drawn = (sitting.view.units_per_m * sitting.side.edge_radius_m) / 312;
  const size =
    mark_radius(fault.peak_dB) * crowding(sitting.report.faults.length) * Math.min(Math.max(drawn, 0.7), 1.6);
  const { centre } = sitting.view;
  return { at, size, inwards_rad: Math.atan2(centre.y - at.y, centre.x - at.x) };
}

/** The fault whose mark lies nearest to a point, within reach of a finger. */
export function fault_near(sitting: Sitting, at: Point, reach = 22): Fault | null {
  let best: Fault | null = null;
  let least = reach;
  for (const fault of sitting.report.faults) {
    if (!has_place(fault)) continue;
    const mark = mark_of(sitting, fault);
    const distance = Math.hypot(mark.at.x - at.x, mark.at.y - at.y);
    if (distance < least) [best, least] = [fault, distance];
  }
  return best;
}

export function draw_portrait(pen: CanvasRenderingContext2D, sitting: Sitting, colours: Palette): void {
  const { options } = sitting;
  pen.clearRect(0, 0, options.width, options.size);
  draw_body(pen, sitting, colours);
  draw_noise(pen, sitting, colours);
  draw_label(pen, sitting, colours);
  draw_notch(pen, sitting, colours);
  const plates: Plate[] = draw_directions(pen, sitting, colours);
  const stands = standing(sitting.report);
  if (stands === "not_this_cut") return draw_refusal(pen, sitting, colours, ["not laid", "over the cut"]);
  if (stands === "unjudged" && sitting.report.faults.every((fault) => !has_place(fault)))
    return draw_refusal(pen, sitting, colours, ["heard", "without its cut"]);
  draw_rings(pen, sitting, colours);
  draw_offset(pen, sitting, colours);
  for (const pattern of sitting.report.patterns) draw_pattern(pen, sitting, colours, pattern);
  for (const index of [...sitting.worst].reverse()) {
    const fault = sitting.report.faults[index] as Fault;
    if (has_place(fault)) draw_mark(pen, fault.kind, mark_of(sitting, fault), colours);
  }
  draw_fault_numbers(pen, sitting, colours, plates);
  draw_ring_figures(pen, sitting, colours, plates);
}

function circle(pen: CanvasRenderingContext2D, at: Point, size: number): void {
  pen.beginPath();
  pen.arc(at.x, at.y, size, 0, turn);
}

function draw_body(pen: CanvasRenderingContext2D, { view, side: shape }: Sitting, colours: Palette): void {
  circle(pen, view.centre, shape.edge_radius_m * view.units_per_m);
  pen.fillStyle = colours.line;
  pen.fill();
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 1.5;
  pen.stroke();
}

function band(pen: CanvasRenderingContext2D, { view }: Sitting, outer_m: number, inner_m: number): void {
  pen.beginPath();
  pen.arc(view.centre.x, view.centre.y, outer_m * view.units_per_m, 0, turn);
  pen.moveTo(view.centre.x + inner_m * view.units_per_m, view.centre.y);
  pen.arc(view.centre.x, view.centre.y, inner_m * view.units_per_m, turn, 0, true);
}

function hatch(pen: CanvasRenderingContext2D, size: number, colours: Palette): void {
  pen.strokeStyle = colours.quiet_ink;
  pen.lineWidth = 0.7;
  pen.beginPath();
  for (let x = -size; x < size; x += 8) {
    pen.moveTo(x, size);
    pen.lineTo(x + size, 0);
  }
  pen.stroke();
}

function draw_noise(pen: CanvasRenderingContext2D, sitting: Sitting, colours: Palette): void {
  const { report, side, view, noise_scale: scale } = sitting;
  pen.save();
  band(pen, sitting, side.outer_radius_m, side.inner_radius_m);
  pen.clip();
  pen.fillStyle = colours.ground;
  pen.fill();
  hatch(pen, Math.max(sitting.options.width, sitting.options.size), colours);
  if (scale && report.polar) fill_cells(pen, sitting, scale);
  else if (report.alignment?.found)
    for (const [from_s, to_s] of report.heard) {
      const turns_per_s = side.rpm / 60;
      band(pen, sitting, groove_radius_m(side, from_s * turns_per_s), groove_radius_m(side, to_s * turns_per_s));
      pen.fillStyle = colours.raised;
      pen.fill();
    }
  pen.restore();
  pen.strokeStyle = colours.quiet_ink;
  pen.lineWidth = 1;
  for (const radius_m of [side.outer_radius_m, side.inner_radius_m]) {
    circle(pen, view.centre, radius_m * view.units_per_m);
    pen.stroke();
  }
}

/** Neighbours would leave hairlines of ground between them: each cell reaches a little under the next. */
function fill_cells(pen: CanvasRenderingContext2D, sitting: Sitting, scale: Scale): void {
  const map = sitting.report.polar;
  if (!map || !(map.revolutions_per_row > 0)) return;
  const { side, view } = sitting;
  const spare = 0.6;
  const width_deg = 360 / map.columns;
  for (let row = 0; row < map.rows; ++row) {
    const outer = groove_radius_m(side, row * map.revolutions_per_row) * view.units_per_m;
    const inner = groove_radius_m(side, (row + 1) * map.revolutions_per_row) * view.units_per_m;
    if (!(outer > inner)) continue;
    const spare_deg = ((spare / inner) * 180) / Math.PI;
    for (let column = 0; column < map.columns; ++column) {
      const cell = map.dB[row]?.[column];
      if (cell === null || cell === undefined) continue;
      const one = page_angle_rad(view, column * width_deg);
      const other = page_angle_rad(view, (column + 1) * width_deg + spare_deg);
      const from = Math.min(one, other),
        to = Math.max(one, other);
      pen.beginPath();
      pen.arc(view.centre.x, view.centre.y, outer, from, to);
      pen.arc(
        view.centre.x,
        view.centre.y,
        Math.max(inner - spare, side.inner_radius_m * view.units_per_m),
        to,
        from,
        true,
      );
      pen.closePath();
      pen.fillStyle = css_of(amount_rgb(share(scale, cell)));
      pen.fill();
    }
  }
}

function draw_label(pen: CanvasRenderingContext2D, { side: shape, view }: Sitting, colours: Palette): void {
  circle(pen, view.centre, shape.label_radius_m * view.units_per_m);
  pen.fillStyle = colours.raised;
  pen.fill();
  pen.strokeStyle = colours.quiet_ink;
  pen.lineWidth = 1;
  pen.stroke();
  circle(pen, view.centre, shape.hole_radius_m * view.units_per_m);
  pen.fillStyle = colours.ground;
  pen.fill();
  pen.strokeStyle = colours.ink;
  pen.stroke();
}

const on_page = (view: DiscView, angle: number, size: number): Point => ({
  x: view.centre.x + size * Math.cos(angle),
  y: view.centre.y + size * Math.sin(angle),
});

function draw_notch(pen: CanvasRenderingContext2D, { side: shape, view }: Sitting, colours: Palette): void {
  const edge = shape.edge_radius_m * view.units_per_m;
  const angle = page_angle_rad(view, 0);
  const deep = 11,
    half = 8 / edge;
  const corners = [
    on_page(view, angle - half, edge + 1),
    on_page(view, angle, edge - deep),
    on_page(view, angle + half, edge + 1),
  ];
  pen.beginPath();
  corners.forEach((corner, i) => (i === 0 ? pen.moveTo(corner.x, corner.y) : pen.lineTo(corner.x, corner.y)));
  pen.fillStyle = colours.ground;
  pen.fill();
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 1.5;
  pen.stroke();
}

const font = (size: number, bold = false) => `${bold ? "600 " : ""}${size}px system-ui, sans-serif`;

function rim_text(
  pen: CanvasRenderingContext2D,
  { view, side: shape }: Sitting,
  angle: number,
  text: string,
  colour: string,
): Plate {
  const edge = shape.edge_radius_m * view.units_per_m;
  pen.font = font(13);
  const width = pen.measureText(text).width;
  const gap = 7 + (Math.abs(Math.cos(angle)) * width) / 2 + Math.abs(Math.sin(angle)) * 7;
  const at = on_page(view, angle, edge + gap);
  pen.fillStyle = colour;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  const half = width / 2;
  const x = Math.min(Math.max(at.x, half + 1), 2 * view.centre.x - half - 1);
  pen.fillText(text, x, at.y);
  return { x: x - half - 2, y: at.y - 8, width: width + 4, height: 16 };
}

/** 0°, quarter turns, and which way programme and disc go. */
function draw_directions(pen: CanvasRenderingContext2D, sitting: Sitting, colours: Palette): Plate[] {
  const { view, options } = sitting;
  const plates = [0, 90, 180, 270].map((angle_deg) =>
    rim_text(
      pen,
      sitting,
      page_angle_rad(view, angle_deg),
      angle_deg === 0 ? "0° start" : `${angle_deg}°`,
      angle_deg === 0 ? colours.ink : colours.quiet_ink,
    ),
  );
  const way = is_mirrored(options.view) ? 1 : -1;
  bow(pen, sitting, colours, page_angle_rad(view, 0) + way * turn * 0.085, way * turn * 0.07, "programme runs");
  if (way < 0) bow(pen, sitting, colours, page_angle_rad(view, 0) + turn * 0.345, turn * 0.06, "disc turns");
  return plates;
}

/** A bent arrow outside the edge, clockwise for a positive span, with its meaning written outside. */
function bow(
  pen: CanvasRenderingContext2D,
  { view, side: shape }: Sitting,
  colours: Palette,
  from: number,
  span: number,
  text: string,
): void {
  const size = shape.edge_radius_m * view.units_per_m + 10;
  const shaft_to = from + span - Math.sign(span) * 0.03;
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 1.6;
  pen.beginPath();
  pen.arc(view.centre.x, view.centre.y, size, from, shaft_to, span < 0);
  pen.stroke();
  arrow_head(pen, on_page(view, shaft_to, size), on_page(view, from + span, size), 10, colours.ink);
  const middle = from + span / 2,
    at = on_page(view, middle, size + 7);
  pen.font = font(13);
  // On a narrow screen the words would lie on the disc; the page says the same beneath.
  const room = Math.cos(middle) < 0 ? at.x : 2 * view.centre.x - at.x;
  if (pen.measureText(text).width > room) return;
  pen.fillStyle = colours.ink;
  pen.textAlign = Math.cos(middle) < 0 ? "right" : "left";
  pen.textBaseline = Math.sin(middle) < 0 ? "bottom" : "top";
  pen.fillText(text, at.x, at.y);
}

function arrow_head(pen: CanvasRenderingContext2D, from: Point, to: Point, head: number, colour: string): void {
  const length = Math.hypot(to.x - from.x, to.y - from.y);
  if (length <= 0) return;
  const ux = (to.x - from.x) / length,
    uy = (to.y - from.y) / length,
    half = 0.45 * head;
  pen.fillStyle = colour;
  pen.beginPath();
  pen.moveTo(to.x, to.y);
  pen.lineTo(to.x - ux * head - uy * half, to.y - uy * head + ux * half);
  pen.lineTo(to.x - ux * head + uy * half, to.y - uy * head - ux * half);
  pen.closePath();
  pen.fill();
}

function draw_refusal(
  pen: CanvasRenderingContext2D,
  { view, side: shape }: Sitting,
  colours: Palette,
  lines: string[],
): void {
  const above = ((shape.label_radius_m + shape.hole_radius_m) / 2) * view.units_per_m;
  pen.font = font(15, true);
  pen.fillStyle = colours.ink;
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  lines.forEach((line, i) => pen.fillText(line, view.centre.x, view.centre.y - above + (i - 0.5) * 18));
}

/** The arrow from the hole to the groove's centre, enlarged; the ring at its tip is 2 sigma. */
function draw_offset(pen: CanvasRenderingContext2D, sitting: Sitting, colours: Palette): void {
  const { report, view, side: shape, options, offset_magnification: enlarged } = sitting;
  const { eccentricity_m, eccentricity_sigma_m, eccentricity_direction_deg } = report.offset;
  if (enlarged <= 0 || eccentricity_m === null || eccentricity_direction_deg === null) return;
  const tip = place(view, eccentricity_m * enlarged, eccentricity_direction_deg);
  const reach = Math.hypot(tip.x - view.centre.x, tip.y - view.centre.y);
  const head = Math.min(11, reach);
  const back = reach > 0 ? 1 - (0.7 * head) / reach : 0;
  pen.strokeStyle = colours.copper;
  pen.lineWidth = 2.5;
  pen.beginPath();
  pen.moveTo(view.centre.x, view.centre.y);
  pen.lineTo(view.centre.x + (tip.x - view.centre.x) * back, view.centre.y + (tip.y - view.centre.y) * back);
  pen.stroke();
  arrow_head(pen, view.centre, tip, head, colours.copper);
  if (eccentricity_sigma_m !== null) {
    pen.lineWidth = 1.2;
    circle(pen, tip, Math.max(2 * eccentricity_sigma_m * enlarged * view.units_per_m, 1));
    pen.stroke();
  }
  // Its figures stand in the other half of the label.
  const room = shape.label_radius_m * view.units_per_m;
  if (room < 48) return;
  const first = view.centre.y + (tip.y <= view.centre.y ? room * 0.52 : -room * 0.66);
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.font = font(14, true);
  pen.fillStyle = colours.ink;
  pen.fillText(small_length(eccentricity_m, options.system, 2), view.centre.x, first);
  pen.font = font(13);
  pen.fillStyle = colours.quiet_ink;
  pen.fillText(`drawn × ${enlarged}`, view.centre.x, first + 17);
}

function pattern_stroke(pen: CanvasRenderingContext2D, colours: Palette): void {
  pen.strokeStyle = colours.ground;
  pen.lineWidth = 6;
  pen.stroke();
  pen.strokeStyle = colours.copper;
  pen.lineWidth = 3;
  pen.stroke();
}

function draw_pattern(pen: CanvasRenderingContext2D, sitting: Sitting, colours: Palette, pattern: Pattern): void {
  if (pattern.angle_deg === null) return;
  const { side, view } = sitting;
  // A few turns are narrower than a mark: the drawing reaches past the faults on either side.
  const past_m = (pattern.kind === "radial" ? 24 : 4) / view.units_per_m;
  const outer_m = Math.min(groove_radius_m(side, pattern.first_revolution) + past_m, side.edge_radius_m);
  const inner_m = Math.max(groove_radius_m(side, pattern.last_revolution + 1) - past_m, side.label_radius_m);
  pen.beginPath();
  if (pattern.kind === "radial") {
    const from = place(view, outer_m, pattern.angle_deg),
      to = place(view, inner_m, pattern.angle_deg);
    pen.moveTo(from.x, from.y);
    pen.lineTo(to.x, to.y);
    pattern_stroke(pen, colours);
  } else if (pattern.kind === "arc" || pattern.kind === "patch") {
    const half_deg = Math.max(pattern.angle_span_deg ?? 0, 4) / 2;
    const one = page_angle_rad(view, pattern.angle_deg - half_deg),
      other = page_angle_rad(view, pattern.angle_deg + half_deg);
    const from = Math.min(one, other),
      to = Math.max(one, other);
    pen.arc(view.centre.x, view.centre.y, outer_m * view.units_per_m, from, to);
    pen.arc(view.centre.x, view.centre.y, inner_m * view.units_per_m, to, from, true);
    pen.closePath();
    pattern_stroke(pen, colours);
  }
}

/**
 * The mark of a fault on a rim of ground, so that it reads on every noise colour: tick dot, pop ring, burst wedge,
 * dropout open wedge, jump arrow (inwards) and repeat arrow (outwards), clip square.
 */
export function draw_mark(
  pen: CanvasRenderingContext2D,
  kind: FaultKind,
  mark: { at: Point; size: number; inwards_rad: number },
  colours: Pick<Palette, "ink" | "ground">,
): void {
  const { size } = mark;
  const rimmed = (filled: boolean, width: number) => {
    pen.lineJoin = "round";
    pen.strokeStyle = colours.ground;
    pen.lineWidth = width + 3;
    pen.stroke();
    pen.strokeStyle = colours.ink;
    pen.fillStyle = colours.ink;
    pen.lineWidth = width;
    if (filled) pen.fill();
    pen.stroke();
  };
  pen.save();
  pen.translate(mark.at.x, mark.at.y);
  pen.rotate(mark.inwards_rad + (kind === "repeat" ? Math.PI : 0));
  pen.beginPath();
  if (kind === "tick") {
    pen.arc(0, 0, size * 0.8, 0, turn);
    rimmed(true, 0.5);
  } else if (kind === "pop") {
    pen.arc(0, 0, size, 0, turn);
    rimmed(false, 2.4);
  } else if (kind === "burst" || kind === "dropout") {
    pen.moveTo(size * 1.2, 0);
    pen.lineTo(-size * 0.9, size * 0.8);
    pen.lineTo(-size * 0.9, -size * 0.8);
    pen.closePath();
    rimmed(kind === "burst", kind === "burst" ? 0.5 : 2);
  } else if (kind === "clip") {
    pen.rect(-size * 0.75, -size * 0.75, size * 1.5, size * 1.5);
    rimmed(true, 0.5);
  } else {
    const reach = Math.max(size, 7);
    pen.moveTo(-reach * 1.5, 0);
    pen.lineTo(reach * 1.5, 0);
    pen.moveTo(reach * 0.5, reach * 0.8);
    pen.lineTo(reach * 1.5, 0);
    pen.lineTo(reach * 0.5, -reach * 0.8);
    rimmed(false, 2.8);
  }
  pen.restore();
}

interface Plate {
  x: number;
  y: number;
  width: number;
  height: number;
}

const meets = (a: Plate, b: Plate) =>
  a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;

/** The first of sixteen places round the mark where the number covers neither a plate nor, if it can, another mark. */
function draw_fault_numbers(pen: CanvasRenderingContext2D, sitting: Sitting, colours: Palette, plates: Plate[]): void {
  const faults = sitting.report.faults;
  const marks = faults.filter(has_place).map((fault) => {
    const { at, size } = mark_of(sitting, fault);
    return { x: at.x - size - 1.5, y: at.y - size - 1.5, width: 2 * size + 3, height: 2 * size + 3 };
  });
  pen.font = font(13, true);
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  sitting.worst.slice(0, listed_faults).forEach((index, i) => {
    const fault = faults[index] as Fault;
    if (!has_place(fault)) return;
    const mark = mark_of(sitting, fault),
      text = String(i + 1),
      width = pen.measureText(text).width + 4;
    for (const spare_marks of [true, false])
      for (let step = 0; step < 16; ++step) {
        const angle = mark.inwards_rad + Math.PI * (0.5 + step / 8),
          reach = mark.size + (step % 2 === 0 ? 12 : 20);
        const at = { x: mark.at.x + reach * Math.cos(angle), y: mark.at.y + reach * Math.sin(angle) };
        const plate = { x: at.x - width / 2, y: at.y - 8, width, height: 16 };
        if (plates.some((other) => meets(other, plate)) || (spare_marks && marks.some((other) => meets(other, plate))))
          continue;
        plates.push(plate);
        pen.fillStyle = colours.ground;
        pen.fillRect(plate.x, plate.y, plate.width, plate.height);
        pen.fillStyle = colours.ink;
        pen.fillText(text, at.x, at.y + 0.5);
        return;
      }
  });
}

interface Ring {
  time_s: number;
  radius_m: number;
}

export function rings_of(sitting: Sitting): Ring[] {
  const { side, view } = sitting;
  if (!(side.pitch_m > 0)) return [];
  const speed_m_per_s = (side.pitch_m * side.rpm) / 60;
  const least_s = 30 / (speed_m_per_s * view.units_per_m);
  const step_s = [10, 30, 60, 120, 300, 600].find((one) => one >= least_s) ?? 1200;
  const rings: Ring[] = [];
  for (let i = 1; i < 40; ++i) {
    const radius_m = side.outer_radius_m - i * step_s * speed_m_per_s;
    if (radius_m < side.inner_radius_m) break;
    rings.push({ time_s: i * step_s, radius_m });
  }
  // A band too narrow for any is told by its end.
  if (rings.length === 0)
    rings.push({ time_s: (side.outer_radius_m - side.inner_radius_m) / speed_m_per_s, radius_m: side.inner_radius_m });
  return rings;
}

function draw_rings(pen: CanvasRenderingContext2D, sitting: Sitting, colours: Palette): void {
  pen.strokeStyle = sitting.noise_scale ? colours.ground : colours.line;
  pen.lineWidth = 0.8;
  for (const ring of rings_of(sitting)) {
    circle(pen, sitting.view.centre, ring.radius_m * sitting.view.units_per_m);
    pen.stroke();
  }
}

/** Radius as it is on what is looked at: on the metal larger by the compound's shrinkage. */
export function shown_radius_m(options: Pick<PortraitOptions, "view" | "shrinkage">, radius_on_disc_m: number): number {
  return is_metal(options.view) ? radius_on_disc_m / (1 - options.shrinkage) : radius_on_disc_m;
}

/** Time and radius of the rings, in the one of 24 directions that hides the fewest faults. */
function draw_ring_figures(pen: CanvasRenderingContext2D, sitting: Sitting, colours: Palette, taken: Plate[]): void {
  const { view, options } = sitting;
  pen.font = font(13);
  const rings = rings_of(sitting).map((ring) => {
    const text = `${clock_s(ring.time_s)}  ${radius(shown_radius_m(options, ring.radius_m), options.system)}`;
    return { ...ring, text, width: pen.measureText(text).width + 8 };
  });
  const marks = sitting.report.faults.filter(has_place).map((fault) => mark_of(sitting, fault).at);
  let best: Plate[] = [],
    least = Number.POSITIVE_INFINITY;
  for (let i = 0; i < 24; ++i) {
    const angle = Math.PI / 2 + (i * turn) / 24;
    const plates = rings.map((ring) => {
      const at = on_page(view, angle, ring.radius_m * view.units_per_m);
      return { x: at.x - ring.width / 2, y: at.y - 8, width: ring.width, height: 16 };
    });
    let cost = 0;
    for (const plate of plates) {
      for (const at of marks) if (meets(plate, { x: at.x - 10, y: at.y - 10, width: 20, height: 20 })) cost += 1;
      for (const other of taken) if (meets(plate, other)) cost += 50;
      for (const other of plates) if (other !== plate && meets(plate, other)) cost += 10;
    }
    if (cost < least) [best, least] = [plates, cost];
  }
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  const placed: Plate[] = [];
  best.forEach((plate, i) => {
    if ([...placed, ...taken].some((other) => meets(other, plate))) return;
    placed.push(plate);
    pen.fillStyle = colours.ground;
    pen.fillRect(plate.x, plate.y, plate.width, plate.height);
    pen.fillStyle = colours.ink;
    pen.fillText((rings[i] as { text: string }).text, plate.x + plate.width / 2, plate.y + 8.5);
  });
}

/** On top of the portrait: a copper ring round the chosen fault, and where the stylus is while it plays. */
export function draw_overlay(
  pen: CanvasRenderingContext2D,
  sitting: Sitting,
  colours: Palette,
  shown: { chosen: Fault | null; stylus: { radius_m: number; angle_deg: number } | null },
): void {
  pen.clearRect(0, 0, sitting.options.width, sitting.options.size);
  if (shown.chosen && has_place(shown.chosen)) {
    const mark = mark_of(sitting, shown.chosen);
    for (const [colour, width] of [
      [colours.ground, 7],
      [colours.copper, 3.5],
    ] as const) {
      circle(pen, mark.at, mark.size + 8);
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.stroke();
    }
  }
  if (shown.stylus) {
    const at = place(sitting.view, shown.stylus.radius_m, shown.stylus.angle_deg);
    pen.strokeStyle = colours.copper;
    pen.lineWidth = 2;
    pen.beginPath();
    pen.moveTo(sitting.view.centre.x, sitting.view.centre.y);
    pen.lineTo(at.x, at.y);
    pen.stroke();
    circle(pen, at, 5);
    pen.fillStyle = colours.copper;
    pen.fill();
    pen.strokeStyle = colours.ground;
    pen.stroke();
  }
}

/** One sentence that says what the portrait shows, for those who do not see it. */
export function portrait_words(sitting: Sitting, system: UnitSystem): string {
  const { report, options } = sitting;
  const { eccentricity_m, eccentricity_direction_deg } = report.offset;
  const offset =
    eccentricity_m === null
      ? "offset not determined"
      : `hole ${small_length(eccentricity_m, system)} off centre${eccentricity_direction_deg === null ? "" : ` towards ${degrees(eccentricity_direction_deg)}`}`;
  const seen = is_mirrored(options.view) ? `${options.view}, mirrored` : `${options.view}, as heard`;
  return (
    `Portrait of the ${seen}: ${report.faults.length} faults, ${report.patterns.length} patterns, ${offset}. ` +
    "The same numbers stand in the tables of this page."
  );
}
