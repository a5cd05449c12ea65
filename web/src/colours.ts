/** The house's colours, once for the canvas; style.css names the same ones, and a test holds the two together. */
export interface Palette {
  ground: string;
  raised: string;
  line: string;
  ink: string;
  quiet_ink: string;
  copper: string;
  good: string;
  out: string;
}

export const light_palette: Palette = {
  ground: "#F6F4EF",
  raised: "#FFFFFF",
  line: "#D5D0C4",
  ink: "#1D1F21",
  quiet_ink: "#5B5F63",
  copper: "#9A4F1F",
  good: "#1F5FA8",
  out: "#B85000",
};
/** At a darkened bench; blue and orange are raised until they read on the dark ground. */
export const dark_palette: Palette = {
  ground: "#16181A",
  raised: "#1F2225",
  line: "#383D42",
  ink: "#ECE9E2",
  quiet_ink: "#A3A7AA",
  copper: "#E0935A",
  good: "#7DB2EE",
  out: "#F0923C",
};

export type Rgb = readonly [number, number, number];

export function rgb_of(hex: string): Rgb {
  const value = Number.parseInt(hex.slice(1), 16);
  return [(value >> 16) & 255, (value >> 8) & 255, value & 255];
}

/** Relative luminance of an sRGB colour. Source: W3C, WCAG 2.2, "relative luminance". */
export function luminance([red, green, blue]: Rgb): number {
  const linear = (channel: number) => {
    const share = channel / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  };
  return 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue);
}

/** Contrast ratio, 1 to 21. Source: W3C, WCAG 2.2, success criteria 1.4.3 (text 4.5) and 1.4.11 (marks 3). */
export function contrast(a: Rgb, b: Rgb): number {
  const one = luminance(a),
    other = luminance(b);
  return (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
}

// Nine points of the map "cividis": J. R. Nuñez, C. R. Anderton, R. S. Renslow, PLoS ONE 13(7) e0199239 (2018).
const cividis: readonly Rgb[] = [
  [0.0, 0.135112, 0.304751],
  [0.103401, 0.220406, 0.43579],
  [0.263738, 0.307831, 0.422789],
  [0.38083, 0.395164, 0.435653],
  [0.488697, 0.485318, 0.471008],
  [0.609105, 0.579816, 0.463638],
  [0.736488, 0.680629, 0.424028],
  [0.870717, 0.789572, 0.343333],
  [0.995737, 0.909344, 0.217772],
];

/** The colour of an amount, 0 (least) to 1 (most), held at the ends; joined by straight lines in sRGB. */
export function amount_rgb(amount: number): Rgb {
  const place = Math.min(Math.max(amount, 0), 1) * (cividis.length - 1);
  const below = Math.min(Math.floor(place), cividis.length - 2);
  const share = place - below;
  const a = cividis[below] as Rgb,
    b = cividis[below + 1] as Rgb;
  const mix = (i: 0 | 1 | 2) => Math.round(255 * (a[i] + share * (b[i] - a[i])));
  return [mix(0), mix(1), mix(2)];
}

export function css_of([red, green, blue]: Rgb): string {
  return `rgb(${red},${green},${blue})`;
}

/** The palette that the system's setting asks for. */
export function palette_now(): Palette {
  return matchMedia("(prefers-color-scheme: dark)").matches ? dark_palette : light_palette;
}
