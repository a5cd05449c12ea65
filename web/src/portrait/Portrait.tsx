import { useEffect, useLayoutEffect, useMemo, useRef, useState } from "preact/hooks";
import type { Fault, HeardSide } from "../contracts";
import { palette_now } from "../colours";
import { fit_canvas, type_scale, use_system_colours, use_width } from "../hooks";
import type { UnitSystem } from "../units";
import { draw_overlay, draw_portrait } from "./draw";
import { fault_near } from "./faults";
import { portrait_words, sit } from "./sitting";
import { groove_at, type View } from "./geometry";

export interface PortraitProps {
  report: HeardSide;
  view: View;
  landmark_angle_deg?: number;
  shrinkage?: number;
  system: UnitSystem;
  chosen?: Fault | null;
  /** Where it is being played, in programme time; null while it rests. */
  playing_programme_s?: number | null;
  on_choose?: (fault: Fault) => void;
  most?: number;
}

function fit(canvas: HTMLCanvasElement, width: number, height: number): CanvasRenderingContext2D | null {
  canvas.style.width = `${width * type_scale()}px`;
  return fit_canvas(canvas, width, height);
}

/** The disc portrait of one side: a drawing beneath, the chosen fault and the stylus above it. */
export function Portrait(props: PortraitProps) {
  const holder = useRef<HTMLDivElement>(null),
    drawing = useRef<HTMLCanvasElement>(null),
    above = useRef<HTMLCanvasElement>(null);
  const width = use_width(holder);
  const [drawn, set_drawn] = useState(0);
  const dark = use_system_colours();
  const size = Math.max(Math.min(width, (props.most ?? 900) / type_scale()), 240),
    wide = Math.max(Math.min(width, size + 240), size);
  const sitting = useMemo(
    () =>
      sit(props.report, {
        view: props.view,
        landmark_angle_deg: props.landmark_angle_deg ?? 0,
        shrinkage: props.shrinkage ?? 0,
        system: props.system,
        size,
        width: wide,
      }),
    [props.report, props.view, props.landmark_angle_deg, props.shrinkage, props.system, size, wide],
  );
  useLayoutEffect(() => {
    const canvas = drawing.current,
      over = above.current;
    if (!canvas || !over || width === 0) return;
    const pen = fit(canvas, wide, size);
    fit(over, wide, size);
    const began = performance.now();
    if (pen) draw_portrait(pen, sitting, palette_now());
    performance.measure("portrait", { start: began, end: performance.now() });
    set_drawn((n) => n + 1);
  }, [sitting, dark, width]);
  useEffect(() => {
    const pen = above.current?.getContext("2d");
    if (!pen || width === 0) return;
    const at_s = props.playing_programme_s ?? null;
    draw_overlay(pen, sitting, palette_now(), {
      chosen: props.chosen ?? null,
      stylus: at_s !== null && at_s >= 0 ? groove_at(sitting.side, at_s) : null,
    });
  }, [sitting, drawn, props.chosen, props.playing_programme_s]);
  const click = (event: MouseEvent) => {
    const box = (event.currentTarget as HTMLElement).getBoundingClientRect();
    const fault = fault_near(sitting, {
      x: (event.clientX - box.left) / type_scale(),
      y: (event.clientY - box.top) / type_scale(),
    });
    if (fault) props.on_choose?.(fault);
  };
  return (
    <div class="portrait" ref={holder}>
      <canvas ref={drawing} role="img" aria-label={portrait_words(sitting, props.system)} />
      <canvas ref={above} aria-hidden="true" class="portrait-above" onClick={click} />
    </div>
  );
}
