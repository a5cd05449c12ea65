import { useEffect, useMemo, useRef } from "preact/hooks";
import { type Heard, path } from "../api";
import { palette_now } from "../colours";
import type { Fault, HeardSide } from "../contracts";
import { fit_canvas, type_scale, use_kept, use_system_colours, use_width } from "../hooks";
import { use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { Table } from "../parts/Table";
import { type View, views } from "../portrait/geometry";
import { href } from "../router";
import { use_settings } from "../settings";
import { capital, clock_ms, count, degrees, radius } from "../units";
import { draw_dots } from "./SidePage";

/** As near as this in the programme, two faults lie at one place; the trace weighs it properly. */
export const same_place_s = 0.005;

export interface Pair {
  one: Fault | null;
  other: Fault | null;
}

/** Faults at one place of the programme side by side, each used once, nearest first; the rest alone. */
export function pairs_of(ones: readonly Fault[], others: readonly Fault[], within_s = same_place_s): Pair[] {
  const near: { one: Fault; other: Fault; away: number }[] = [];
  for (const one of ones)
    for (const other of others) {
      if (one.programme_s === null || other.programme_s === null) continue;
      const away = Math.abs(one.programme_s - other.programme_s);
      if (away <= within_s) near.push({ one, other, away });
    }
  near.sort((a, b) => a.away - b.away);
  const used_one = new Set<Fault>(),
    used_other = new Set<Fault>();
  const pairs: Pair[] = [];
  for (const { one, other } of near) {
    if (used_one.has(one) || used_other.has(other)) continue;
    used_one.add(one);
    used_other.add(other);
    pairs.push({ one, other });
  }
  for (const one of ones) if (!used_one.has(one)) pairs.push({ one, other: null });
  for (const other of others) if (!used_other.has(other)) pairs.push({ one: null, other });
  const time = ({ one, other }: Pair) => one?.programme_s ?? other?.programme_s ?? 0;
  return pairs.sort((a, b) => time(a) - time(b));
}

/** Two discs of one side laid over one another. */
export function Overlay({ one, other }: { one: string; other: string }) {
  const first = use_data<HeardSide>(path.portrait(one)),
    second = use_data<HeardSide>(path.portrait(other));
  const first_play = use_data<Heard>(path.heard(one)),
    second_play = use_data<Heard>(path.heard(other));
  const { system } = use_settings();
  const [view, set_view] = use_kept<View>("view", "disc");
  const holder = useRef<HTMLDivElement>(null),
    drawing = useRef<HTMLCanvasElement>(null);
  const width = use_width(holder),
    dark = use_system_colours(),
    size = Math.min(Math.max(width, 240), 760);
  const pairs = useMemo(
    () => (first.data && second.data ? pairs_of(first.data.faults, second.data.faults) : []),
    [first.data, second.data],
  );
  useEffect(() => {
    const canvas = drawing.current;
    if (!canvas || !first.data || !second.data || width === 0) return;
    const pen = fit_canvas(canvas, size, size),
      colours = palette_now();
    if (!pen) return;
    canvas.style.width = `${size * type_scale()}px`;
    draw_dots(
      pen,
      first.data.shape,
      size,
      view,
      [
        { faults: first.data.faults, style: { colour: colours.ink, open: false } },
        { faults: second.data.faults, style: { colour: colours.copper, open: true } },
      ],
      4,
    );
  }, [first.data, second.data, size, width, dark, view]);
  const error = first.error ?? second.error;
  const disc_words = (heard: Heard | null, code: string) =>
    heard ? `impression ${heard.play.impression[0]} of ${heard.play.stamper ?? "a stamper not known"}` : code;
  const both = pairs.filter((pair) => pair.one && pair.other).length;
  return (
    <main id="main" tabIndex={-1} class="desk">
      <header class="subject">
        <p class="what">
          <a href={href("bench", one)}>{one}</a> and <a href={href("bench", other)}>{other}</a>
        </p>
        <h1>
          {first.data && second.data
            ? `${both === 0 ? "No fault" : count(both, "fault")} at the same place on both`
            : "Two discs over one another"}
        </h1>
        <p class="counts">
          Filled dots: {disc_words(first_play.data, one)}. Open copper squares: {disc_words(second_play.data, other)}. A
          dot in a square lies on both.
        </p>
      </header>
      {error && <Problem error={error} again={first.again} />}
      {!first.data && !error && <Waiting what="the discs" />}
      <div class="columns">
        <section aria-label="Overlay">
          <fieldset class="choices">
            <legend class="unseen">What is looked at</legend>
            {views.map((name) => (
              <label key={name} class="choice">
                <input type="radio" name="view" checked={view === name} onChange={() => set_view(name)} />{" "}
                {capital(name)}
              </label>
            ))}
          </fieldset>
          <div ref={holder} class="portrait">
            <canvas
              ref={drawing}
              role="img"
              aria-label={`Two discs laid over one another: ${count(both, "fault")} lie at the same place on both. The numbers stand in the table.`}
            />
          </div>
        </section>
        <section aria-label="Faults of both">
          <h2>Faults of both</h2>
          <Table
            caption="Faults of both discs in programme order"
            hide_caption
            rows={pairs}
            row_key={(pair) => `${pair.one?.id ?? ""}-${pair.other?.id ?? ""}`}
            most={60}
            columns={[
              {
                head: "time",
                value: (pair) => pair.one?.programme_s ?? pair.other?.programme_s ?? null,
                show: (pair) => {
                  const at_s = pair.one?.programme_s ?? pair.other?.programme_s;
                  return at_s == null ? "–" : clock_ms(at_s);
                },
                figure: true,
              },
              { head: "on", value: (pair) => (pair.one && pair.other ? "both" : pair.one ? "first" : "second") },
              { head: "first", value: (pair) => pair.one?.kind ?? null },
              { head: "second", value: (pair) => pair.other?.kind ?? null },
              {
                head: "angle",
                value: (pair) => (pair.one ?? pair.other)?.angle_deg ?? null,
                show: (pair) => degrees((pair.one ?? pair.other)?.angle_deg),
                figure: true,
              },
              {
                head: "radius",
                value: (pair) => (pair.one ?? pair.other)?.radius_m ?? null,
                show: (pair) => radius((pair.one ?? pair.other)?.radius_m, system),
                figure: true,
              },
            ]}
          />
          <p class="quiet">
            “Both”: within {same_place_s * 1000}
            {"\u2009"}ms of programme. The trace weighs this against chance.
          </p>
        </section>
      </div>
    </main>
  );
}
