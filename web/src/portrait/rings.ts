import type { Palette } from "../colours";
import { clock_s, radius } from "../units";
import { has_place, mark_of } from "./faults";
import { circle, font, meets, on_page, type Plate, turn } from "./pen";
import { shown_radius_m, type Sitting } from "./sitting";

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

export function draw_rings(pen: CanvasRenderingContext2D, sitting: Sitting, colours: Palette): void {
  pen.strokeStyle = sitting.noise_scale ? colours.ground : colours.line;
  pen.lineWidth = 0.8;
  for (const ring of rings_of(sitting)) {
    circle(pen, sitting.view.centre, ring.radius_m * sitting.view.units_per_m);
    pen.stroke();
  }
}

/** Time and radius of the rings, in the one of 24 directions that hides the fewest faults. */
export function draw_ring_figures(
  pen: CanvasRenderingContext2D,
  sitting: Sitting,
  colours: Palette,
  taken: Plate[],
): void {
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
