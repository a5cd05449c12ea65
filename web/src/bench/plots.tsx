import { useMemo, useRef } from "preact/hooks";
import type { Heard } from "../api";
import type { HeardSide, ThirdOctave } from "../contracts";
import { type_scale, use_width } from "../hooks";
import { Figure } from "../parts/Figure";
import { frame_of, Grid, ranges } from "../parts/plot";
import { Table } from "../parts/Table";
import { clock_ticks, round_scale } from "../scale";
import { clock_s, degrees, fixed, per_cent, signed, signed_decibel, small_length, type UnitSystem } from "../units";
import { use_settings } from "../settings";

const height = 250,
  margin = { left: 62, right: 14, top: 14, bottom: 46 };

type Limits = Heard["limits"];

/** What the limits allow, % against capture time, above zero: e over the groove's radius there, and the peak once a turn. */
export function wow_limits(report: HeardSide, limits: Limits): [number, number][][] {
  const curve = report.wow.curve,
    start_s = report.programme_start_s,
    end_s = report.programme_end_s;
  if (!limits || !curve || curve.time_s.length < 2) return [];
  const from_s = curve.time_s[0] as number,
    to_s = curve.time_s[curve.time_s.length - 1] as number;
  const points = 60;
  const line = (deviation: (at_s: number) => number) =>
    Array.from({ length: points + 1 }, (_, i): [number, number] => {
      const at_s = from_s + ((to_s - from_s) * i) / points;
      return [at_s, deviation(at_s) * 100];
    });
  const all: [number, number][][] = [];
  const { eccentricity_m, once_per_rev_peak } = limits,
    { outer_radius_m, inner_radius_m } = report.shape;
  if (eccentricity_m !== null && start_s !== null && end_s !== null && end_s > start_s && inner_radius_m > 0)
    all.push(
      line((at_s) => {
        const share = Math.min(Math.max((at_s - start_s) / (end_s - start_s), 0), 1);
        return eccentricity_m / (outer_radius_m + (inner_radius_m - outer_radius_m) * share);
      }),
    );
  if (once_per_rev_peak !== null) all.push(line(() => once_per_rev_peak));
  return all;
}

function limit_words(limits: Limits, system: UnitSystem): string {
  const parts: string[] = [];
  if (limits && limits.eccentricity_m !== null) parts.push(`hole ${small_length(limits.eccentricity_m, system)} off centre`);
  if (limits && limits.once_per_rev_peak !== null) parts.push(`${per_cent(limits.once_per_rev_peak, 2)} once a turn`);
  return parts.length > 0 ? ` Dashed: the limits, ${parts.join(" and ")}.` : "";
}

/** Speed deviation over the capture: least and most of each moment, so that no spike is lost. */
export function WowPlot({ report, limits }: { report: HeardSide; limits: Heard["limits"] }) {
  const holder = useRef<HTMLDivElement>(null),
    width = Math.max(use_width(holder), 300);
  const { system } = use_settings();
  const curve = report.wow.curve;
  const drawn = useMemo(() => {
    if (!curve || curve.time_s.length < 2) return null;
    const per_cents = curve.deviation.map((one) => one * 100);
    const lines = wow_limits(report, limits);
    const reach = Math.max(...per_cents.map(Math.abs), ...lines.flatMap((line) => line.map(([, y]) => y * 1.1)), 0.02);
    const scale = round_scale(-reach, reach, 0.04);
    const from_s = curve.time_s[0] as number,
      to_s = curve.time_s[curve.time_s.length - 1] as number;
    const box = {
      left: margin.left,
      top: margin.top,
      width: width - margin.left - margin.right,
      height: height - margin.top - margin.bottom,
    };
    const frame = frame_of(box, (value) => (value - from_s) / (to_s - from_s), scale);
    const spans = ranges(curve.time_s, per_cents, Math.max(Math.floor(box.width / 2), 10));
    const upper = spans.map((span) => `${frame.x(span.x).toFixed(1)} ${frame.y(span.most).toFixed(1)}`);
    const lower = spans.map((span) => `${frame.x(span.x).toFixed(1)} ${frame.y(span.least).toFixed(1)}`).reverse();
    const path_of = (line: [number, number][], way: 1 | -1) =>
      `M${line.map(([at_s, y]) => `${frame.x(at_s).toFixed(1)} ${frame.y(way * y).toFixed(1)}`).join("L")}`;
    const limit = lines.map((line) => path_of(line, 1) + path_of(line, -1)).join("");
    return { frame, scale, from_s, to_s, outline: `M${[...upper, ...lower].join("L")}Z`, limit };
  }, [curve, width, limits]);
  const { eccentricity_m, eccentricity_sigma_m, eccentricity_direction_deg } = report.offset;
  const peak = report.wow.once_per_rev_peak;
  const offset =
    eccentricity_m === null
      ? "Offset not determined."
      : `Hole ${small_length(eccentricity_m, system)}${eccentricity_sigma_m === null ? "" : ` ± ${small_length(eccentricity_sigma_m, system)}`} off the groove's centre` +
        `${eccentricity_direction_deg === null ? "" : ` towards ${degrees(eccentricity_direction_deg)}`}, as seated.`;
  const once =
    peak === null ? "" : ` Once a turn ${per_cent(peak.outer, 3)} outside, ${per_cent(peak.inner, 3)} inside.`;
  const weighted =
    report.wow.weighted_2sigma === null
      ? ""
      : ` Wow and flutter ${per_cent(report.wow.weighted_2sigma, 3)} (weighted 2σ, player included).`;
  return (
    <Figure
      title="Wow: how the speed swings"
      name={`${report.report}-wow`}
      note={offset + once + weighted + limit_words(limits, system)}
      numbers={
        curve && (
          <Table
            caption="Speed deviation over the capture"
            most={50}
            row_key={(row) => row.time_s}
            rows={curve.time_s.map((time_s, i) => ({ time_s, deviation: curve.deviation[i] as number }))}
            columns={[
              {
                head: "capture time, s",
                value: (row) => row.time_s,
                show: (row) => fixed(row.time_s, 2),
                figure: true,
              },
              {
                head: "speed deviation, %",
                value: (row) => row.deviation * 100,
                show: (row) => signed(row.deviation * 100, 4),
                figure: true,
              },
            ]}
          />
        )
      }
    >
      <div ref={holder}>
        {drawn ? (
          <svg
            role="img"
            viewBox={`0 0 ${width} ${height}`}
            width="100%"
            height={height * type_scale()}
            aria-label={`Wow curve. ${offset}${once}${weighted}`}
          >
            <Grid
              frame={drawn.frame}
              y_scale={drawn.scale}
              y_text={(value) => signed(value, drawn.scale.step < 0.1 ? 2 : 1)}
              x_ticks={clock_ticks(drawn.from_s, drawn.to_s, width / 90).map((at) => ({ at, text: clock_s(at) }))}
            />
            <path d={drawn.outline} class="curve-copper" />
            {drawn.limit && <path d={drawn.limit} class="limit-line" />}
            <text class="axis" x={margin.left} y={height - 6}>
              capture time, min:s
            </text>
            <text class="axis" x={width - margin.right} y={height - 6} text-anchor="end">
              speed deviation, %
            </text>
          </svg>
        ) : (
          <p>The speed's swing could not be followed.</p>
        )}
      </div>
    </Figure>
  );
}

const hertz = (value: number) =>
  value >= 1000 ? `${Number((value / 1000).toFixed(2))} k` : `${Number(value.toFixed(1))}`;

/** Capture minus reference by third octave: left a filled line with dots, right a broken one with squares. */
export function LevelsPlot({ report }: { report: HeardSide }) {
  const holder = useRef<HTMLDivElement>(null),
    width = Math.max(use_width(holder), 300);
  const bands = report.levels.third_octave;
  const { balance_dB, separation_dB } = report.levels;
  const figures = [
    balance_dB === null ? "balance not determined" : `balance ${signed_decibel(balance_dB, 2)} (right minus left)`,
    separation_dB === null ? "separation not determined" : `separation ${fixed(separation_dB, 1)}\u2009dB`,
  ].join(", ");
  const drawn = useMemo(() => {
    if (bands.length < 2) return null;
    const all = bands.flatMap((band) => [band.left_dB, band.right_dB]);
    const scale = round_scale(Math.min(...all, 0), Math.max(...all, 0), 2);
    const low = Math.log(bands[0]?.centre_Hz as number),
      high = Math.log(bands[bands.length - 1]?.centre_Hz as number);
    const box = {
      left: margin.left,
      top: margin.top,
      width: width - margin.left - margin.right,
      height: height - margin.top - margin.bottom,
    };
    const frame = frame_of(box, (value) => (Math.log(value) - low) / (high - low), scale);
    const line = (of: (band: ThirdOctave) => number) =>
      `M${bands.map((band) => `${frame.x(band.centre_Hz).toFixed(1)} ${frame.y(of(band)).toFixed(1)}`).join("L")}`;
    return { frame, scale, left: line((band) => band.left_dB), right: line((band) => band.right_dB) };
  }, [bands, width]);
  const shown = [31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000];
  return (
    <Figure
      title="Levels by third octave"
      name={`${report.report}-levels`}
      note={`Capture minus cut, gain included: ${figures}.`}
      numbers={
        <Table
          caption="Levels by third octave"
          row_key={(band) => band.centre_Hz}
          rows={bands}
          columns={[
            { head: "centre, Hz", value: (band) => band.centre_Hz, figure: true },
            { head: "left, dB", value: (band) => band.left_dB, show: (band) => signed(band.left_dB, 2), figure: true },
            {
              head: "right, dB",
              value: (band) => band.right_dB,
              show: (band) => signed(band.right_dB, 2),
              figure: true,
            },
            {
              head: "± dB",
              value: (band) => band.sigma_dB ?? null,
              show: (band) => (band.sigma_dB == null ? "–" : fixed(band.sigma_dB, 3)),
              figure: true,
            },
          ]}
        />
      }
    >
      <div ref={holder}>
        {drawn ? (
          <svg
            role="img"
            viewBox={`0 0 ${width} ${height}`}
            width="100%"
            height={height * type_scale()}
            aria-label={`Levels by third octave, ${figures}.`}
          >
            <Grid
              frame={drawn.frame}
              y_scale={drawn.scale}
              y_text={(value) => signed(value, drawn.scale.step < 1 ? 1 : 0)}
              x_ticks={shown
                .filter((at) => at >= (bands[0]?.centre_Hz ?? 0) && at <= (bands[bands.length - 1]?.centre_Hz ?? 0))
                .map((at) => ({ at, text: hertz(at) }))}
            />
            <path d={drawn.left} class="curve-left" />
            <path d={drawn.right} class="curve-right" />
            {bands.map((band) => (
              <g key={band.centre_Hz}>
                <circle class="mark-left" cx={drawn.frame.x(band.centre_Hz)} cy={drawn.frame.y(band.left_dB)} r="3.5" />
                <rect
                  class="mark-right"
                  x={drawn.frame.x(band.centre_Hz) - 3}
                  y={drawn.frame.y(band.right_dB) - 3}
                  width="6"
                  height="6"
                />
              </g>
            ))}
            <g class="legend">
              <circle class="mark-left" cx={margin.left + 8} cy={height - 11} r="3.5" />
              <text class="axis" x={margin.left + 18} y={height - 6}>
                left
              </text>
              <rect class="mark-right" x={margin.left + 62} y={height - 14} width="6" height="6" />
              <text class="axis" x={margin.left + 75} y={height - 6}>
                right
              </text>
              <text class="axis" x={width - margin.right} y={height - 6} text-anchor="end">
                Hz; level, dB
              </text>
            </g>
          </svg>
        ) : (
          <p>Levels were not determined.</p>
        )}
      </div>
    </Figure>
  );
}
