import type { RefObject } from "preact";
import { useEffect, useLayoutEffect, useState } from "preact/hooks";

/** How much larger than 16 px the page's type is here: a wall screen is read from further away, pictures too. */
export function type_scale(): number {
  return (Number.parseFloat(getComputedStyle(document.documentElement).fontSize) || 16) / 16;
}

/** Makes a canvas width × height pixels of 16 px type large, as sharp as the screen is; the pen counts in those. */
export function fit_canvas(canvas: HTMLCanvasElement, width: number, height: number): CanvasRenderingContext2D | null {
  const scale = type_scale(),
    density = (window.devicePixelRatio || 1) * scale;
  canvas.width = Math.round(width * density);
  canvas.height = Math.round(height * density);
  canvas.style.height = `${height * scale}px`;
  const pen = canvas.getContext("2d");
  pen?.setTransform(density, 0, 0, density, 0, 0);
  return pen;
}

/** The width of an element in CSS pixels of 16 px type (`type_scale`), followed as it changes; 0 before it is known. */
export function use_width(of: RefObject<HTMLElement>): number {
  const [width, set_width] = useState(0);
  useLayoutEffect(() => {
    const element = of.current;
    if (!element) return;
    const measure = () => set_width(Math.floor(element.clientWidth / type_scale()));
    measure();
    const watcher = new ResizeObserver(measure);
    watcher.observe(element);
    return () => watcher.disconnect();
  }, []);
  return width;
}

/** Whether the system asks for dark colours; draws anew when that changes. */
export function use_system_colours(): boolean {
  const query = matchMedia("(prefers-color-scheme: dark)");
  const [dark, set_dark] = useState(query.matches);
  useEffect(() => {
    const follow = (event: MediaQueryListEvent) => set_dark(event.matches);
    query.addEventListener("change", follow);
    return () => query.removeEventListener("change", follow);
  }, []);
  return dark;
}

/** A choice that this browser keeps. */
export function use_kept<T extends string>(name: string, fallback: T): [T, (value: T) => void] {
  const [value, set_value] = useState<T>(() => {
    try {
      return (localStorage.getItem(`goodside.${name}`) as T | null) ?? fallback;
    } catch {
      return fallback;
    }
  });
  return [
    value,
    (next) => {
      set_value(next);
      try {
        localStorage.setItem(`goodside.${name}`, next);
      } catch {
        // A browser that keeps nothing still works for this visit.
      }
    },
  ];
}
