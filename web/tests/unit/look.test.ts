import { describe, expect, it } from "vitest";
import { amount_rgb, contrast, dark_palette, light_palette, luminance, type Palette, rgb_of } from "../../src/colours";
import { clock_ticks, round_scale, share, ticks } from "../../src/scale";
import { project_file } from "./files";

const style = project_file("web/src/style.css");

describe("colours", () => {
  it("canvas and style sheet have the same ones", () => {
    const [day, night] = [
      style.slice(0, style.indexOf("@media")),
      style.slice(style.indexOf("@media (prefers-color-scheme: dark)")),
    ];
    for (const [text, palette] of [
      [day, light_palette],
      [night, dark_palette],
    ] as const)
      for (const [name, value] of Object.entries(palette))
        expect(text).toContain(`--${name.replace("_", "-")}: ${value};`);
  });

  // W3C, WCAG 2.2, success criteria 1.4.3 and 1.4.11.
  it("every text reads at 4.5 to 1 and every mark at 3 to 1, on both grounds, by day and by night", () => {
    for (const palette of [light_palette, dark_palette])
      for (const ground of ["ground", "raised"] as const) {
        for (const text of ["ink", "quiet_ink", "copper", "good", "out"] as const satisfies (keyof Palette)[])
          expect(
            contrast(rgb_of(palette[text]), rgb_of(palette[ground])),
            `${text} on ${ground}`,
          ).toBeGreaterThanOrEqual(4.5);
        expect(contrast(rgb_of(palette.ground), rgb_of(palette.ink))).toBeGreaterThanOrEqual(4.5);
        expect(contrast(rgb_of(palette.ground), rgb_of(palette.copper))).toBeGreaterThanOrEqual(4.5);
      }
  });

  // WCAG 2.2, "contrast ratio": black on white is 21, and the mid grey #767676 is the known edge of 4.5 on white.
  it("contrast is the standard's", () => {
    expect(contrast([0, 0, 0], [255, 255, 255])).toBeCloseTo(21, 9);
    expect(contrast(rgb_of("#767676"), [255, 255, 255])).toBeGreaterThanOrEqual(4.5);
    expect(contrast(rgb_of("#777777"), [255, 255, 255])).toBeLessThan(4.5);
  });

  it("amounts grow lighter evenly, so that every kind of eye and a photocopy tells them apart", () => {
    let before = -1;
    for (let i = 0; i <= 64; ++i) {
      const now = luminance(amount_rgb(i / 64));
      expect(now).toBeGreaterThan(before);
      before = now;
    }
  });

  // PLoS ONE 13(7) e0199239, the map "cividis": its ends as published, (0, 34, 78) and (254, 232, 56) in 8 bits to one step.
  it("the ends are the published map's", () => {
    const near = (a: readonly number[], b: readonly number[]) =>
      a.forEach((one, i) => expect(Math.abs(one - (b[i] as number))).toBeLessThanOrEqual(1));
    near(amount_rgb(0), [0, 34, 78]);
    near(amount_rgb(1), [254, 232, 56]);
    expect(amount_rgb(-5)).toEqual(amount_rgb(0));
    expect(amount_rgb(7)).toEqual(amount_rgb(1));
  });

  it("no shadow, no gradient, no rounded pill, and no text under 13 px", () => {
    expect(style).not.toMatch(/box-shadow|text-shadow|gradient\(|border-radius/);
    for (const [, size] of style.matchAll(/font-size: ([\d.]+)rem/g))
      expect(Number(size) * 16).toBeGreaterThanOrEqual(13);
    for (const [, size] of style.matchAll(/font-size: ([\d.]+)px/g)) expect(Number(size)).toBeGreaterThanOrEqual(13);
  });
});

describe("scales", () => {
  it("hold what they are given between round ends", () => {
    for (const [least, most] of [
      [-71.3, -64.9],
      [0, 1],
      [3, 3],
      [-0.02, 0.019],
      [12, 1234],
    ] as const) {
      const scale = round_scale(least, most, 0.01);
      expect(scale.low).toBeLessThanOrEqual(least);
      expect(scale.high).toBeGreaterThanOrEqual(most);
      const steps = (scale.high - scale.low) / scale.step;
      expect(steps).toBeCloseTo(Math.round(steps), 6);
      expect(Math.round(steps)).toBeGreaterThanOrEqual(2);
      expect(Math.round(steps)).toBeLessThanOrEqual(6);
      expect(ticks(scale)).toHaveLength(Math.round(steps) + 1);
      expect(share(scale, scale.low)).toBe(0);
      expect(share(scale, scale.high)).toBe(1);
    }
  });

  it("clocks are marked at round times, no more than there is room for", () => {
    for (const [from_s, to_s, most] of [
      [0, 1234, 8],
      [42.6, 44.6, 6],
      [-3, 48, 5],
    ] as const) {
      const marked = clock_ticks(from_s, to_s, most);
      expect(marked.length).toBeGreaterThan(1);
      expect(marked.length).toBeLessThanOrEqual(most + 1);
      for (const at of marked) expect(at).toBeGreaterThanOrEqual(from_s - 1e-6);
    }
    expect(clock_ticks(0, 60, 6)).toEqual([0, 10, 20, 30, 40, 50, 60]);
  });
});
