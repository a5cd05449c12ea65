import type { Palette } from "../colours";
import { small_length } from "../units";
import { is_mirrored, page_angle_rad, place } from "./geometry";
import { arrow_head, circle, font, on_page, type Plate, turn } from "./pen";
import type { Sitting } from "./sitting";

export function draw_body(pen: CanvasRenderingContext2D, { view, side: shape }: Sitting, colours: Palette): void {
  circle(pen, view.centre, shape.edge_radius_m * view.units_per_m);
  pen.fillStyle = colours.line;
  pen.fill();
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 1.5;
  pen.stroke();
}

export function draw_label(pen: CanvasRenderingContext2D, { side: shape, view }: Sitting, colours: Palette): void {
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

export function draw_notch(pen: CanvasRenderingContext2D, { side: shape, view }: Sitting, colours: Palette): void {
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
export function draw_directions(pen: CanvasRenderingContext2D, sitting: Sitting, colours: Palette): Plate[] {
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

export function draw_refusal(
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
export function draw_offset(pen: CanvasRenderingContext2D, sitting: Sitting, colours: Palette): void {
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
