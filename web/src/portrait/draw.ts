import type { Palette } from "../colours";
import type { Fault } from "../contracts";
import { standing } from "../units";
import { draw_body, draw_directions, draw_label, draw_notch, draw_offset, draw_refusal } from "./disc";
import { draw_fault_numbers, draw_mark, draw_pattern, has_place, mark_of } from "./faults";
import { place } from "./geometry";
import { draw_noise } from "./noise";
import { circle, type Plate } from "./pen";
import { draw_ring_figures, draw_rings } from "./rings";
import type { Sitting } from "./sitting";

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
