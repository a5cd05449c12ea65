import type { Palette } from "../colours";
import type { Fault, FaultKind, Pattern } from "../contracts";
import { crowding, groove_radius_m, mark_radius, page_angle_rad, place, type Point } from "./geometry";
import { font, meets, type Plate, turn } from "./pen";
import type { Sitting } from "./sitting";

export const listed_faults = 7;

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

function pattern_stroke(pen: CanvasRenderingContext2D, colours: Palette): void {
  pen.strokeStyle = colours.ground;
  pen.lineWidth = 6;
  pen.stroke();
  pen.strokeStyle = colours.copper;
  pen.lineWidth = 3;
  pen.stroke();
}

export function draw_pattern(
  pen: CanvasRenderingContext2D,
  sitting: Sitting,
  colours: Palette,
  pattern: Pattern,
): void {
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

/** The first of sixteen places round the mark where the number covers neither a plate nor, if it can, another mark. */
export function draw_fault_numbers(
  pen: CanvasRenderingContext2D,
  sitting: Sitting,
  colours: Palette,
  plates: Plate[],
): void {
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
