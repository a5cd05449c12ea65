import { useEffect, useRef } from "preact/hooks";
import { amount_rgb, css_of, palette_now } from "../colours";
import type { FaultKind, HeardSide } from "../contracts";
import { use_system_colours } from "../hooks";
import { draw_mark, has_place } from "../portrait/faults";
import { noise_scale } from "../portrait/sitting";
import { share, ticks } from "../scale";
import { fixed } from "../units";
import { fault_kinds } from "./ear";

function Mark({ kind }: { kind: FaultKind }) {
  const drawing = useRef<HTMLCanvasElement>(null),
    dark = use_system_colours();
  useEffect(() => {
    const canvas = drawing.current,
      pen = canvas?.getContext("2d");
    if (!canvas || !pen) return;
    const density = window.devicePixelRatio || 1;
    canvas.width = canvas.height = 24 * density;
    pen.setTransform(density, 0, 0, density, 0, 0);
    draw_mark(pen, kind, { at: { x: 12, y: 12 }, size: 7, inwards_rad: Math.PI / 2 }, palette_now());
  }, [kind, dark]);
  return <canvas class="legend-mark" ref={drawing} width="24" height="24" aria-hidden="true" />;
}

/** What the marks mean and how many there are; patterns; the noise's colours with their numbers. */
export function Legends({ report }: { report: HeardSide }) {
  const scale = noise_scale(report);
  const placed = report.faults.filter(has_place);
  const here = fault_kinds
    .map((kind) => ({ kind, n: placed.filter((fault) => fault.kind === kind).length }))
    .filter(({ n }) => n > 0);
  return (
    <div class="legends">
      {here.length > 0 && (
        <p class="marks">
          <span class="quiet">Marks, larger is louder: </span>
          {here.map(({ kind, n }) => (
            <span key={kind}>
              <Mark kind={kind} />
              {n} {kind}
            </span>
          ))}
          {report.patterns.length > 0 && (
            <span>
              <svg width="22" height="12" aria-hidden="true">
                <path class="pattern-key" d="M1 6h20" />
              </svg>
              pattern
            </span>
          )}
        </p>
      )}
      {scale ? (
        <figure class="noise-key">
          <figcaption class="quiet">Noise that is not programme, {report.polar?.reference || "dB"}</figcaption>
          <svg
            viewBox="-6 0 352 36"
            role="img"
            aria-label={`Colours of the noise from ${fixed(scale.low, 0)} to ${fixed(scale.high, 0)} decibels, dark is quiet, yellow is loud.`}
          >
            {Array.from({ length: 64 }, (_, i) => (
              <rect
                key={i}
                x={10 + (320 * i) / 64}
                y="1"
                width="5.4"
                height="14"
                fill={css_of(amount_rgb((i + 0.5) / 64))}
              />
            ))}
            {ticks(scale).map((value) => (
              <text key={value} class="tick" x={10 + 320 * share(scale, value)} y="31" text-anchor="middle">
                {fixed(value, 0)}
              </text>
            ))}
          </svg>
          <p class="quiet">
            <svg width="26" height="13" aria-hidden="true">
              <path class="hatch-key" d="M1 12 12 1M9 12 20 1M17 12 25 4" />
            </svg>{" "}
            not heard, or not measured
          </p>
        </figure>
      ) : (
        <p class="quiet">Noise was not measured.</p>
      )}
    </div>
  );
}
