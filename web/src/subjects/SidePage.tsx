import { useEffect, useRef, useState } from "preact/hooks";
import { api, path, type Play, type Sheet, type Side } from "../api";
import { palette_now } from "../colours";
import type { Shape } from "../contracts";
import { use_system_colours } from "../hooks";
import { use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { StateWord } from "../parts/State";
import { Table } from "../parts/Table";
import { is_mirrored, page_angle_rad, place, type View } from "../portrait/geometry";
import { go, href, use_place } from "../router";
import { use_kept } from "../hooks";
import { Flow } from "../works/Flow";
import { clock_s, count, text_of } from "../units";
import { Plays } from "./tables";

type OnSheet = Sheet["plays"][number];

/** A side: its discs as a contact sheet by stamper and impression; what they share shows without reading. */
export function SidePage({ code }: { code: string }) {
  const side = use_data<Side>(path.side(code));
  const { query } = use_place();
  const stamper = query.get("stamper");
  const [view, set_view] = use_kept<View>("view", "disc");
  const first = use_data<Sheet>(path.sheet(code, stamper, null));
  const [more, set_more] = useState<Sheet[]>([]);
  useEffect(() => set_more([]), [code, stamper, first.data]);
  const sheets = first.data ? [first.data, ...more] : [];
  const plays = sheets.flatMap((sheet) => sheet.plays);
  const next = sheets[sheets.length - 1]?.next ?? null;
  const shape = first.data?.shape ?? side.data?.shape ?? null;
  const [picked, set_picked] = useState<string[]>([]);
  const error = side.error ?? first.error;
  if (!side.data)
    return (
      <main id="main" tabIndex={-1} class="desk">
        {error ? <Problem error={error} again={side.again} /> : <Waiting what="the side" />}
      </main>
    );
  const { title, stampers } = side.data;
  const groups = new Map<string, OnSheet[]>();
  for (const one of plays) {
    const name = one.play.stamper ?? "stamper not known";
    groups.set(name, [...(groups.get(name) ?? []), one]);
  }
  const pick = (report: string) =>
    set_picked((before) =>
      before.includes(report) ? before.filter((one) => one !== report) : [...before, report].slice(-2),
    );
  return (
    <main id="main" tabIndex={-1} class="desk">
      <header class="subject">
        <p class="what">
          <a href={href("title", title.code)}>{text_of(title.name)}</a> · side {code}
        </p>
        <h1>
          <StateWord
            state={side.data.plays === 0 ? "unknown" : side.data.passed < side.data.plays ? "out" : "good"}
            words={`Side ${text_of(side.data.side.letter)}: ${side.data.passed} of ${side.data.plays} within limits`}
          />
        </h1>
        <p>
          <a class="main" href={href("trace", code)}>
            Open the trace of side {text_of(side.data.side.letter)}
          </a>
        </p>
      </header>
      <Flow code={code} />
      <section aria-label="Stampers">
        <h2>Stampers</h2>
        <Table
          caption="Stampers"
          hide_caption
          rows={stampers}
          row_key={(one) => one.stamper ?? ""}
          columns={[
            {
              head: "stamper",
              value: (one) => one.stamper,
              show: (one) => (one.stamper ? <a href={href("part", one.stamper)}>{one.stamper}</a> : "not known"),
            },
            { head: "closings", value: (one) => one.closings, figure: true },
            { head: "heard", value: (one) => one.plays, figure: true },
            { head: "within limits", value: (one) => one.passed, figure: true },
            {
              head: "plain faults a disc",
              value: (one) => (one.plays > 0 ? Math.round((one.plain / one.plays) * 10) / 10 : null),
              figure: true,
            },
            {
              head: "sheet",
              value: () => "",
              show: (one) =>
                one.stamper && (
                  <a href={`${href("side", code)}?stamper=${encodeURIComponent(one.stamper)}`}>its discs alone</a>
                ),
            },
          ]}
        />
      </section>
      <section aria-label="Contact sheet">
        <h2>Contact sheet{stamper ? ` of ${stamper}` : ""}</h2>
        <div class="sheet-tools">
          <fieldset class="choices">
            <legend>As on</legend>
            {(["disc", "stamper"] as const).map((one) => (
              <label key={one} class="choice">
                <input
                  type="radio"
                  name="sheet-view"
                  checked={is_mirrored(view) === (one === "stamper")}
                  onChange={() => set_view(one)}
                />{" "}
                {one}
              </label>
            ))}
          </fieldset>
          {stamper && <a href={href("side", code)}>All stampers</a>}
          <button
            type="button"
            class="main"
            disabled={picked.length !== 2}
            onClick={() => go(href("overlay", ...picked))}
          >
            Lay two over one another
          </button>
          <span class="quiet">{picked.length} of 2 ticked</span>
        </div>
        {first.error && <Problem error={first.error} again={first.again} />}
        {!first.data && !first.error && <Waiting what="the sheet" />}
        {shape &&
          [...groups].map(([name, discs]) => (
            <div class="sheet-group" key={name}>
              <h3>
                {name}{" "}
                <span class="quiet">
                  {discs.filter((one) => one.play.pass).length} of {discs.length} within limits
                </span>
              </h3>
              <ul class="sheet">
                {discs.map((one) => (
                  <li key={one.play.report}>
                    <a href={href("bench", one.play.report)}>
                      <Small on_sheet={one} shape={shape} view={view} />
                      <StateWord state={one.play.pass ? "good" : "out"} words={impression_of(one.play)} />
                      {one.not_heard.length > 0 && <span class="quiet part">{part_words(one.not_heard)}</span>}
                    </a>
                    <label class="pick">
                      <input
                        type="checkbox"
                        checked={picked.includes(one.play.report)}
                        onChange={() => pick(one.play.report)}
                      />
                      <span>
                        overlay<span class="unseen"> impression {impression_of(one.play)}</span>
                      </span>
                    </label>
                  </li>
                ))}
              </ul>
            </div>
          ))}
        {next && (
          <p>
            <button
              type="button"
              onClick={() =>
                void api
                  .get<Sheet>(path.sheet(code, stamper, next))
                  .then((sheet) => set_more((before) => [...before, sheet]))
              }
            >
              Show more, {plays.length} of {first.data?.total} shown
            </button>
          </p>
        )}
      </section>
      <section aria-label="Numbers">
        <h2>The numbers of the sheet</h2>
        <Plays plays={plays.map((one) => one.play)} />
      </section>
    </main>
  );
}

const impression_of = (play: Play) =>
  play.impression[0] === play.impression[1] ? `${play.impression[0]}` : `${play.impression[0]}–${play.impression[1]}`;

/** Rings of groove that a play did not hear, outer and inner radius; where the pitch is not known there are none. */
export function not_heard_rings(shape: Shape, not_heard: readonly [number, number][]): [number, number][] {
  if (!(shape.pitch_m > 0) || !(shape.rpm > 0)) return [];
  const radius_m = (time_s: number) =>
    Math.max(shape.outer_radius_m - (shape.pitch_m * time_s * shape.rpm) / 60, shape.inner_radius_m);
  return not_heard.map(([from_s, to_s]) => [radius_m(from_s), radius_m(to_s)]);
}

/** "heard to 3:05" and the like; empty where all was heard. */
export function part_words(not_heard: readonly [number, number][]): string {
  if (not_heard.length === 0) return "";
  return `not heard: ${not_heard.map(([from_s, to_s]) => `${clock_s(from_s)}–${clock_s(to_s)}`).join(", ")}`;
}

export interface MarkStyle {
  colour: string;
  open: boolean;
}

/** Disc, band, label, hole and notch, and dots where the faults lie: small enough for a sheet, or large for an overlay. */
export function draw_dots(
  pen: CanvasRenderingContext2D,
  shape: Shape,
  size: number,
  view: View,
  layers: {
    faults: readonly { angle_deg: number | null; radius_m: number | null; audibility: string }[];
    style: MarkStyle;
  }[],
  dot: number,
  not_heard: readonly [number, number][] = [],
): void {
  const colours = palette_now();
  const disc = {
    view,
    centre: { x: size / 2, y: size / 2 },
    units_per_m: (size / 2 - 3) / shape.edge_radius_m,
    landmark_angle_deg: 0,
  };
  const ring = (radius_m: number, fill: string, stroke: string) => {
    pen.beginPath();
    pen.arc(disc.centre.x, disc.centre.y, radius_m * disc.units_per_m, 0, 2 * Math.PI);
    pen.fillStyle = fill;
    pen.fill();
    pen.strokeStyle = stroke;
    pen.lineWidth = 1;
    pen.stroke();
  };
  pen.clearRect(0, 0, size, size);
  ring(shape.edge_radius_m, colours.line, colours.ink);
  ring(shape.outer_radius_m, colours.raised, colours.quiet_ink);
  for (const [from_m, to_m] of not_heard_rings(shape, not_heard)) {
    pen.beginPath();
    pen.arc(disc.centre.x, disc.centre.y, from_m * disc.units_per_m, 0, 2 * Math.PI);
    pen.arc(disc.centre.x, disc.centre.y, to_m * disc.units_per_m, 0, 2 * Math.PI, true);
    pen.fillStyle = colours.quiet_ink;
    pen.fill();
  }
  ring(shape.inner_radius_m, colours.line, colours.quiet_ink);
  ring(shape.label_radius_m, colours.ground, colours.quiet_ink);
  ring(shape.hole_radius_m, colours.ink, colours.ink);
  const zero = page_angle_rad(disc, 0),
    edge = shape.edge_radius_m * disc.units_per_m;
  pen.beginPath();
  for (const [angle, reach] of [
    [zero - 4 / edge, edge + 2],
    [zero, edge - 6],
    [zero + 4 / edge, edge + 2],
  ] as const)
    pen.lineTo(disc.centre.x + reach * Math.cos(angle), disc.centre.y + reach * Math.sin(angle));
  pen.closePath();
  pen.fillStyle = colours.ink;
  pen.fill();
  for (const { faults, style } of layers)
    for (const fault of faults) {
      if (fault.angle_deg === null || fault.radius_m === null) continue;
      const at = place(disc, fault.radius_m, fault.angle_deg);
      pen.beginPath();
      if (style.open) pen.rect(at.x - dot * 1.6, at.y - dot * 1.6, dot * 3.2, dot * 3.2);
      else pen.arc(at.x, at.y, fault.audibility === "plain" ? dot : dot * 0.6, 0, 2 * Math.PI);
      pen.fillStyle = pen.strokeStyle = style.colour;
      pen.lineWidth = Math.max(dot * 0.55, 1.4);
      if (style.open) pen.stroke();
      else pen.fill();
    }
}

function Small({ on_sheet, shape, view }: { on_sheet: OnSheet; shape: Shape; view: View }) {
  const drawing = useRef<HTMLCanvasElement>(null),
    dark = use_system_colours();
  const size = 120;
  useEffect(() => {
    const canvas = drawing.current,
      pen = canvas?.getContext("2d");
    if (!canvas || !pen) return;
    const density = window.devicePixelRatio || 1;
    canvas.width = canvas.height = size * density;
    pen.setTransform(density, 0, 0, density, 0, 0);
    draw_dots(
      pen,
      shape,
      size,
      view,
      [{ faults: on_sheet.faults, style: { colour: palette_now().ink, open: false } }],
      3,
      on_sheet.not_heard,
    );
  }, [on_sheet, shape, view, dark]);
  return (
    <canvas
      ref={drawing}
      width={size}
      height={size}
      class="small-portrait"
      role="img"
      aria-label={`Impression ${impression_of(on_sheet.play)}: ${[count(on_sheet.fault_count, "fault"), part_words(on_sheet.not_heard)].filter(Boolean).join("; ")}`}
    />
  );
}
