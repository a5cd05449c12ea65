import type { HeardSide, Shape } from "../contracts";
import { round_scale, type Scale } from "../scale";
import { degrees, small_length, type UnitSystem, worst_first } from "../units";
import { type DiscView, is_metal, is_mirrored, type View, with_pitch } from "./geometry";

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

/** Radius as it is on what is looked at: on the metal larger by the compound's shrinkage. */
export function shown_radius_m(options: Pick<PortraitOptions, "view" | "shrinkage">, radius_on_disc_m: number): number {
  return is_metal(options.view) ? radius_on_disc_m / (1 - options.shrinkage) : radius_on_disc_m;
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
