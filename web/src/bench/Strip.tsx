import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { palette_now, amount_rgb, css_of } from "../colours";
import type { Opinion, Sound } from "../api";
import type { Fault, HeardSide } from "../contracts";
import { fit_canvas, type_scale, use_system_colours, use_width } from "../hooks";
import { draw_mark } from "../portrait/faults";
import { noise_scale } from "../portrait/sitting";
import { mark_radius } from "../portrait/geometry";
import { clock_ticks, share } from "../scale";
import { clock_ms, clock_s, count } from "../units";
import { clock_of, fault_time_s } from "./clock";
import type { Window } from "./player";

const height = 122,
  floor = 84,
  top = 8;

export interface StripProps {
  report: HeardSide;
  chosen: Fault | null;
  playing_s: number | null;
  own: readonly Pick<Opinion, "capture_s" | "programme_s" | "what">[];
  on_choose: (fault: Fault) => void;
  on_place: (time_s: number) => void;
}

/** The whole side in time: faults as stems, louder is higher; noise as a band beneath; what was not heard is hatched. */
export function Strip(props: StripProps) {
  const { report } = props;
  const holder = useRef<HTMLDivElement>(null),
    drawing = useRef<HTMLCanvasElement>(null);
  const width = use_width(holder),
    dark = use_system_colours();
  const clock = useMemo(() => clock_of(report), [report]);
  const left = 10,
    right = 10;
  const x = (time_s: number) =>
    left + ((width - left - right) * (time_s - clock.from_s)) / Math.max(clock.to_s - clock.from_s, 1e-6);
  const y = (fault: Fault) => floor - 8 - (floor - 8 - top) * Math.min(Math.max((fault.peak_dB + 50) / 50, 0.08), 1);
  useEffect(() => {
    if (!drawing.current || width === 0) return;
    const pen = fit_canvas(drawing.current, width, height),
      colours = palette_now();
    if (!pen) return;
    pen.fillStyle = colours.raised;
    pen.fillRect(left, top, width - left - right, floor - top);
    draw_noise_band(pen, report, x, colours.quiet_ink, width - left - right, left);
    pen.font = "13px system-ui, sans-serif";
    pen.textAlign = "center";
    for (const at of clock_ticks(clock.from_s, clock.to_s, width / 80)) {
      pen.fillStyle = colours.line;
      pen.fillRect(x(at) - 0.5, top, 1, floor - top);
      pen.fillStyle = colours.ink;
      pen.fillText(clock_s(at), Math.min(Math.max(x(at), 16), width - 16), height - 6);
    }
    for (const pattern of report.patterns) {
      const times = report.faults
        .filter((fault) => fault.pattern === pattern.id)
        .map((fault) => fault_time_s(report, fault));
      if (times.length === 0) continue;
      pen.fillStyle = colours.copper;
      pen.fillRect(
        x(Math.min(...times)) - 2,
        floor - 4,
        Math.max(x(Math.max(...times)) - x(Math.min(...times)), 2) + 4,
        3,
      );
    }
    for (const fault of report.faults) {
      const at = { x: x(fault_time_s(report, fault)), y: y(fault) };
      pen.fillStyle = colours.quiet_ink;
      pen.fillRect(at.x - 0.75, at.y, 1.5, floor - at.y);
      draw_mark(
        pen,
        fault.kind,
        { at, size: mark_radius(fault.peak_dB) * 0.7, inwards_rad: Math.PI / 2 },
        { ink: colours.ink, ground: colours.raised },
      );
    }
    for (const own of props.own) {
      if (own.capture_s === null) continue;
      const at = x(clock.of_capture(own.capture_s));
      pen.strokeStyle = colours.copper;
      pen.lineWidth = 2.5;
      pen.beginPath();
      pen.moveTo(at, top);
      pen.lineTo(at + 6, top + 6);
      pen.lineTo(at, top + 12);
      pen.lineTo(at - 6, top + 6);
      pen.closePath();
      pen.stroke();
    }
    pen.strokeStyle = colours.quiet_ink;
    pen.lineWidth = 1;
    pen.strokeRect(left - 0.5, top - 0.5, width - left - right + 1, floor - top + 16);
  }, [report, width, dark, props.own]);
  const chosen_x = props.chosen ? x(fault_time_s(report, props.chosen)) : null;
  const click = (event: MouseEvent) => {
    const at = (event.clientX - (event.currentTarget as HTMLElement).getBoundingClientRect().left) / type_scale();
    let best: Fault | null = null,
      least = 12;
    for (const fault of report.faults) {
      const away = Math.abs(x(fault_time_s(report, fault)) - at);
      if (away < least) [best, least] = [fault, away];
    }
    if (best) props.on_choose(best);
    else props.on_place(clock.from_s + ((at - left) / Math.max(width - left - right, 1)) * (clock.to_s - clock.from_s));
  };
  return (
    <div class="strip" ref={holder} onClick={click}>
      <canvas
        ref={drawing}
        height={height}
        role="img"
        aria-label={`The side in time: ${count(report.faults.length, "fault")} from ${clock_s(clock.from_s)} to ${clock_s(clock.to_s)}, ${clock.words}. The same numbers stand in the table of faults.`}
      />
      <svg
        class="strip-above"
        viewBox={`0 0 ${Math.max(width, 1)} ${height}`}
        width="100%"
        height={height * type_scale()}
        aria-hidden="true"
      >
        {chosen_x !== null && (
          <path class="chosen-line" d={`M${chosen_x} ${top - 6}V${floor + 14}M${chosen_x - 6} ${top - 7}h12l-6 8Z`} />
        )}
        {props.playing_s !== null && <path class="stylus-line" d={`M${x(props.playing_s)} ${top}V${floor + 14}`} />}
      </svg>
    </div>
  );
}

/** The mean noise of each row of the polar map, in the portrait's colours; hatched where nothing was measured. */
function draw_noise_band(
  pen: CanvasRenderingContext2D,
  report: HeardSide,
  x: (time_s: number) => number,
  hatch: string,
  width: number,
  left: number,
): void {
  pen.save();
  pen.beginPath();
  pen.rect(left, floor + 1, width, 14);
  pen.clip();
  pen.strokeStyle = hatch;
  pen.lineWidth = 0.8;
  pen.beginPath();
  for (let at = left - 14; at < left + width; at += 7) {
    pen.moveTo(at, floor + 15);
    pen.lineTo(at + 14, floor + 1);
  }
  pen.stroke();
  const scale = noise_scale(report),
    map = report.polar;
  if (scale && map && report.shape.rpm > 0) {
    const row_s = (map.revolutions_per_row * 60) / report.shape.rpm;
    map.dB.forEach((row, i) => {
      const known = row.filter((cell): cell is number => cell !== null);
      if (known.length === 0) return;
      const mean = known.reduce((sum, cell) => sum + cell, 0) / known.length;
      pen.fillStyle = css_of(amount_rgb(share(scale, mean)));
      pen.fillRect(x(i * row_s), floor + 1, x((i + 1) * row_s) - x(i * row_s) + 0.6, 14);
    });
  }
  pen.restore();
}

/** Least and most of the samples in each column. */
export function envelope(samples: Float32Array, columns: number): { least: number; most: number }[] {
  return Array.from({ length: columns }, (_, i) => {
    const from = Math.floor((i * samples.length) / columns),
      to = Math.max(Math.floor(((i + 1) * samples.length) / columns), from + 1);
    let least = Number.POSITIVE_INFINITY,
      most = Number.NEGATIVE_INFINITY;
    for (let j = from; j < to && j < samples.length; ++j) {
      const sample = samples[j] as number;
      if (sample < least) least = sample;
      if (sample > most) most = sample;
    }
    return least <= most ? { least, most } : { least: 0, most: 0 };
  });
}

/** The window that is heard, close up: capture above, difference beneath on a scale of its own that is written. */
export function CloseUp(props: {
  window: Window | null;
  report: HeardSide;
  fault: Fault;
  playing_capture_s: number | null;
  sound: Sound;
}) {
  const holder = useRef<HTMLDivElement>(null),
    drawing = useRef<HTMLCanvasElement>(null);
  const width = use_width(holder),
    dark = use_system_colours();
  const tall = 176,
    left = 10,
    right = 10;
  const { window: shown, fault } = props;
  const [words, set_words] = useState("");
  const x = (capture_s: number) =>
    shown ? left + ((width - left - right) * (capture_s - shown.from_s)) / (shown.to_s - shown.from_s) : 0;
  useEffect(() => {
    if (!drawing.current || width === 0) return;
    const pen = fit_canvas(drawing.current, width, tall),
      colours = palette_now();
    if (!pen) return;
    pen.clearRect(0, 0, width, tall);
    if (!shown) return;
    const columns = Math.max(Math.floor(width - left - right), 1);
    const told: string[] = [];
    const lanes: [Sound, number, string][] = [
      ["capture", 38, colours.quiet_ink],
      ["difference", 112, colours.copper],
    ];
    for (const [sound, middle, colour] of lanes) {
      const buffer = shown.sounds[sound];
      pen.fillStyle = colours.line;
      pen.fillRect(left, middle - 0.5, width - left - right, 1);
      if (!buffer) continue;
      const channels = Array.from({ length: buffer.numberOfChannels }, (_, i) =>
        envelope(buffer.getChannelData(i), columns),
      );
      const peak = channels.reduce(
        (most, one) => one.reduce((so_far, { least, most: high }) => Math.max(so_far, -least, high), most),
        1e-6,
      );
      pen.fillStyle = colour;
      for (let i = 0; i < columns; ++i) {
        const low = Math.min(...channels.map((one) => one[i]?.least ?? 0)),
          high = Math.max(...channels.map((one) => one[i]?.most ?? 0));
        const from = middle - (high / peak) * 33,
          to = middle - (low / peak) * 33;
        pen.fillRect(left + i, from, 1, Math.max(to - from, 0.8));
      }
      told.push(`${sound} peak ${(20 * Math.log10(peak)).toFixed(1).replace("-", "−")}\u2009dB`);
      pen.font = "13px system-ui, sans-serif";
      pen.textAlign = "left";
      const text = `${sound}, peak ${(20 * Math.log10(peak)).toFixed(1).replace("-", "−")} dB of full scale`;
      const wide = pen.measureText(text).width;
      pen.fillStyle = colours.ground;
      pen.fillRect(left, middle - 37, wide + 8, 17);
      pen.fillStyle = colours.ink;
      pen.fillText(text, left + 4, middle - 24);
    }
    pen.textAlign = "center";
    for (const at of clock_ticks(shown.from_s, shown.to_s, width / 110)) {
      pen.fillStyle = colours.line;
      pen.fillRect(x(at), 146, 1, 6);
      pen.fillStyle = colours.ink;
      pen.fillText(clock_ms(at), Math.min(Math.max(x(at), 32), width - 32), 168);
    }
    set_words(told.join(", "));
  }, [shown, width, dark, props.sound]);
  return (
    <div class="strip close-up" ref={holder}>
      <canvas
        ref={drawing}
        height={tall}
        role="img"
        aria-label={`Waveforms about the ${fault.kind} at ${clock_ms(fault.capture_s)} of the capture${words ? `: ${words}` : ""}.`}
      />
      <svg
        class="strip-above"
        viewBox={`0 0 ${Math.max(width, 1)} ${tall}`}
        width="100%"
        height={tall * type_scale()}
        aria-hidden="true"
      >
        {shown && (
          <path
            class="chosen-line"
            d={`M${x(fault.capture_s) - 6} 0h12l-6 8ZM${x(fault.capture_s) - 6} 154h12l-6 -8Z`}
          />
        )}
        {shown &&
          props.playing_capture_s !== null &&
          props.playing_capture_s <= shown.to_s &&
          props.playing_capture_s >= shown.from_s && (
            <path class="stylus-line" d={`M${x(props.playing_capture_s)} 2V150`} />
          )}
      </svg>
    </div>
  );
}
