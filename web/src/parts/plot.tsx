import type { ComponentChildren } from "preact";
import { type Scale, share, ticks } from "../scale";

export interface Frame {
  left: number;
  top: number;
  width: number;
  height: number;
  x: (value: number) => number;
  y: (value: number) => number;
}

/** An area with linear axes; `x_at` may bend the horizontal one (a logarithm). */
export function frame_of(
  box: { left: number; top: number; width: number; height: number },
  x_at: (value: number) => number,
  y_scale: Scale,
): Frame {
  return {
    ...box,
    x: (value) => box.left + box.width * x_at(value),
    y: (value) => box.top + box.height * (1 - share(y_scale, value)),
  };
}

export function Grid(props: {
  frame: Frame;
  y_scale: Scale;
  y_text: (value: number) => string;
  x_ticks: { at: number; text: string }[];
  children?: ComponentChildren;
}) {
  const { frame } = props;
  return (
    <g>
      {ticks(props.y_scale).map((value) => (
        <g key={`y${value}`}>
          <line
            class={value === 0 ? "zero" : "grid"}
            x1={frame.left}
            x2={frame.left + frame.width}
            y1={frame.y(value)}
            y2={frame.y(value)}
          />
          <text class="tick" x={frame.left - 8} y={frame.y(value) + 4.5} text-anchor="end">
            {props.y_text(value)}
          </text>
        </g>
      ))}
      {props.x_ticks.map(({ at, text }) => (
        <g key={`x${at}`}>
          <line class="grid" x1={frame.x(at)} x2={frame.x(at)} y1={frame.top} y2={frame.top + frame.height} />
          <text class="tick" x={frame.x(at)} y={frame.top + frame.height + 18} text-anchor="middle">
            {text}
          </text>
        </g>
      ))}
      {props.children}
    </g>
  );
}

/** Least and most of a curve in each of `columns` slots: as many points as a picture can show, nothing lost. */
export function ranges(
  x: readonly number[],
  y: readonly number[],
  columns: number,
): { x: number; least: number; most: number }[] {
  const n = Math.min(x.length, y.length);
  if (n === 0) return [];
  const first = x[0] as number,
    span = (x[n - 1] as number) - first;
  const result: { x: number; least: number; most: number }[] = [];
  let slot = -1;
  for (let i = 0; i < n; ++i) {
    const at = x[i] as number,
      value = y[i] as number;
    const now = span > 0 ? Math.min(Math.floor(((at - first) / span) * columns), columns - 1) : 0;
    const last = result[result.length - 1];
    if (!last || now !== slot) result.push({ x: at, least: value, most: value });
    else {
      last.least = Math.min(last.least, value);
      last.most = Math.max(last.most, value);
    }
    slot = now;
  }
  return result;
}
