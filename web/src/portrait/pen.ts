import type { DiscView, Point } from "./geometry";

// What every part of the portrait draws with.
export const turn = 2 * Math.PI;

export function circle(pen: CanvasRenderingContext2D, at: Point, size: number): void {
  pen.beginPath();
  pen.arc(at.x, at.y, size, 0, turn);
}

export const on_page = (view: DiscView, angle: number, size: number): Point => ({
  x: view.centre.x + size * Math.cos(angle),
  y: view.centre.y + size * Math.sin(angle),
});

export const font = (size: number, bold = false) => `${bold ? "600 " : ""}${size}px system-ui, sans-serif`;

export function arrow_head(pen: CanvasRenderingContext2D, from: Point, to: Point, head: number, colour: string): void {
  const length = Math.hypot(to.x - from.x, to.y - from.y);
  if (length <= 0) return;
  const ux = (to.x - from.x) / length,
    uy = (to.y - from.y) / length,
    half = 0.45 * head;
  pen.fillStyle = colour;
  pen.beginPath();
  pen.moveTo(to.x, to.y);
  pen.lineTo(to.x - ux * head - uy * half, to.y - uy * head + ux * half);
  pen.lineTo(to.x - ux * head + uy * half, to.y - uy * head - ux * half);
  pen.closePath();
  pen.fill();
}

export interface Plate {
  x: number;
  y: number;
  width: number;
  height: number;
}

export const meets = (a: Plate, b: Plate) =>
  a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
