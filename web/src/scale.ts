/** A scale with round ends and ticks that holds the values given. */
export interface Scale {
  low: number;
  high: number;
  step: number;
}

/** Ends on multiples of a step of 1, 2 or 5 times a power of ten, with two to six steps. */
export function round_scale(least: number, most: number, least_span = 1): Scale {
  const span = Math.max(most - least, least_span);
  const power = 10 ** Math.floor(Math.log10(span));
  let step = 2 * power;
  for (const factor of [0.2, 0.5, 1]) {
    const steps = Math.ceil(most / (factor * power)) - Math.floor(least / (factor * power));
    if (steps > 6) continue;
    step = factor * power;
    break;
  }
  const low = Math.floor(least / step) * step;
  return { low, high: Math.max(Math.ceil(most / step) * step, low + 2 * step), step };
}

export function share(scale: Scale, value: number): number {
  return (value - scale.low) / (scale.high - scale.low);
}

export function ticks(scale: Scale): number[] {
  const count = Math.round((scale.high - scale.low) / scale.step);
  return Array.from({ length: count + 1 }, (_, i) => {
    const value = scale.low + i * scale.step;
    return Math.abs(value) < scale.step * 1e-9 ? 0 : value;
  });
}

/** Ticks of a clock between two times: 1, 2, 5, 10, 15, 30 s, 1, 2, 5 min …, at most `most` of them. */
export function clock_ticks(from_s: number, to_s: number, most: number): number[] {
  const steps = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800];
  const step = steps.find((one) => (to_s - from_s) / one <= most) ?? 3600;
  const result: number[] = [];
  for (let i = Math.ceil(from_s / step - 1e-9) + 0; i * step <= to_s + step * 1e-9; ++i) result.push(i * step);
  return result;
}
