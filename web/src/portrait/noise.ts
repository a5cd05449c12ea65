import { amount_rgb, css_of, type Palette } from "../colours";
import { type Scale, share } from "../scale";
import { groove_radius_m, page_angle_rad } from "./geometry";
import { circle, turn } from "./pen";
import type { Sitting } from "./sitting";

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

export function draw_noise(pen: CanvasRenderingContext2D, sitting: Sitting, colours: Palette): void {
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
