import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import {
  api,
  type Counts,
  type Disc,
  type HeardCounts,
  type Holding,
  type LineNow,
  type Order,
  type OrderStanding,
  type Part,
  path,
  type Play,
  type Row,
  type Run,
  type RunStanding,
  type Thing,
  type Title,
} from "../api";
import { text_of } from "../bench/BenchHome";
import { type Loaded, tell_changed, use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { Shape, type State, StateWord } from "../parts/State";
import { Table } from "../parts/Table";
import { href } from "../router";
import { may, use_settings } from "../settings";
import { RunHolds } from "../trace/TraceView";
import { capital, count, decibel, instant, small_length } from "../units";
import { field_words, Fields, link_to, Value } from "./fields";

/** A subject page reads top to bottom: what it is, how it stands, why, what to do next. */
function Subject(props: {
  what: ComponentChildren;
  name: ComponentChildren;
  state: State;
  stands: ComponentChildren;
  children: ComponentChildren;
}) {
  return (
    <main id="main" tabIndex={-1} class="desk">
      <header class="subject">
        <p class="what">{props.what}</p>
        <h1>
          <Shape state={props.state} /> {props.name}
        </h1>
        <p class="counts">{props.stands}</p>
      </header>
      {props.children}
    </main>
  );
}

function Loading({ data, what }: { data: Loaded<unknown>; what: string }) {
  return (
    <main id="main" tabIndex={-1} class="desk">
      {data.error ? <Problem error={data.error} again={data.again} /> : <Waiting what={what} />}
    </main>
  );
}

const place_words: Record<keyof Counts, string> = {
  pressed: "pressed",
  edge_finished: "edge finished",
  in_sample: "in sample",
  good_stock: "good stock",
  suspect: "suspect",
  packed: "packed",
  shipped: "shipped",
  scrap: "scrap",
  unaccounted: "unaccounted",
};
const place_states: Partial<Record<keyof Counts, State>> = {
  good_stock: "good",
  suspect: "suspect",
  packed: "good",
  shipped: "shipped",
  scrap: "scrap",
  unaccounted: "out",
};

export function worst_of(counts: Counts, heard?: HeardCounts): State {
  if (counts.unaccounted !== 0 || (heard?.bad ?? 0) > 0) return "out";
  if (counts.suspect > 0) return "suspect";
  return (heard?.good ?? 0) > 0 || counts.good_stock + counts.packed + counts.shipped > 0 ? "good" : "unknown";
}

function Ledger({ counts }: { counts: Counts }) {
  const places = (Object.keys(place_words) as (keyof Counts)[]).filter((place) => counts[place] !== 0);
  return (
    <ul class="ledger">
      {places.map((place) => (
        <li key={place}>
          <StateWord state={place_states[place] ?? "unknown"} words={place_words[place]} />{" "}
          <b>{counts[place].toLocaleString("en-GB")}</b>
        </li>
      ))}
      {places.length === 0 && <li class="quiet">No disc has been pressed.</li>}
    </ul>
  );
}

const heard_words = (heard: HeardCounts) => `${heard.good} heard good, ${heard.bad} bad, ${heard.waiting} waiting`;

function Runs({ runs }: { runs: readonly RunStanding[] }) {
  const { zone } = use_settings();
  return (
    <Table
      caption="Runs, newest first"
      hide_caption
      rows={runs}
      row_key={(one) => one.run.code}
      columns={[
        {
          head: "run",
          value: (one) => one.run.code,
          show: (one) => <a href={href("run", one.run.code)}>{one.run.code}</a>,
        },
        { head: "purpose", value: (one) => text_of(one.run.purpose) },
        {
          head: "state",
          value: (one) => worst_of(one.counts, one.heard),
          show: (one) => <StateWord state={worst_of(one.counts, one.heard)} />,
        },
        { head: "impressions", value: (one) => one.impressions, figure: true },
        { head: "suspect", value: (one) => one.counts.suspect, figure: true },
        { head: "scrap", value: (one) => one.counts.scrap, figure: true },
        { head: "heard", value: (one) => one.heard.good + one.heard.bad, show: (one) => heard_words(one.heard) },
        {
          head: "begun",
          value: (one) => Number(one.run.at_ms ?? 0),
          show: (one) => (one.run.at_ms ? instant(Number(one.run.at_ms), zone) : "–"),
        },
      ]}
    />
  );
}

export function Orders({ orders }: { orders: readonly OrderStanding[] }) {
  const { zone } = use_settings();
  return (
    <Table
      caption="Orders, the earliest due first"
      hide_caption
      rows={orders}
      row_key={(one) => one.code}
      columns={[
        { head: "order", value: (one) => one.code, show: (one) => <a href={href("order", one.code)}>{one.code}</a> },
        { head: "title", value: (one) => one.name, show: (one) => <a href={href("title", one.title)}>{one.name}</a> },
        { head: "format", value: (one) => one.format },
        {
          head: "state",
          value: (one) => worst_of(one.counts, one.heard),
          show: (one) =>
            one.late ? <StateWord state="out" words="late" /> : <StateWord state={worst_of(one.counts, one.heard)} />,
        },
        { head: "done", value: (one) => one.done, show: (one) => `${one.done} of ${one.quantity}`, figure: true },
        { head: "suspect", value: (one) => one.counts.suspect, figure: true },
        {
          head: "due",
          value: (one) => one.due_ms,
          show: (one) => (one.due_ms === null ? "–" : instant(one.due_ms, zone).slice(0, 10)),
        },
        { head: "heard", value: (one) => one.heard.good + one.heard.bad, show: (one) => heard_words(one.heard) },
      ]}
    />
  );
}

export function TitlePage({ code }: { code: string }) {
  const data = use_data<Title>(path.title(code));
  if (!data.data) return <Loading data={data} what="the title" />;
  const { title, sides, orders, runs, run_count } = data.data;
  const suspect = runs.reduce((sum, one) => sum + one.counts.suspect, 0);
  const bad = runs.reduce((sum, one) => sum + one.heard.bad, 0);
  const state: State =
    bad > 0 ? "out" : suspect > 0 ? "suspect" : runs.some((one) => one.heard.good > 0) ? "good" : "unknown";
  const heard_side = sides.find((one) => one.plays > one.passed) ?? sides.find((one) => one.plays > 0);
  return (
    <Subject
      state={state}
      what={
        <>
          Title {title.code}
          {title.artist ? <> · {text_of(title.artist)}</> : null}
          {title.catalogue ? <> · {text_of(title.catalogue)}</> : null}
        </>
      }
      name={text_of(title.name)}
      stands={`${count(orders.length, "order")} · ${count(run_count, "run")} · ${count(suspect, "suspect disc")} · ${count(bad, "sample")} heard bad`}
    >
      {heard_side && (
        <p>
          <a class="main" href={href("trace", heard_side.code)}>
            Open the trace of side {heard_side.letter}
          </a>
        </p>
      )}
      <section aria-label="Sides">
        <h2>Sides</h2>
        <ul class="jobs">
          {sides.map((one) => (
            <li key={one.code}>
              <a href={href("side", one.code)}>Side {one.letter}</a> <span>{one.format ?? ""}</span>
              <StateWord
                state={one.plays === 0 ? "unknown" : one.passed < one.plays ? "out" : "good"}
                words={one.plays === 0 ? "not heard yet" : `${one.passed} of ${one.plays} within limits`}
              />
              <a href={href("trace", one.code)}>Trace of side {one.letter}</a>
            </li>
          ))}
        </ul>
      </section>
      <section aria-label="Orders">
        <h2>Orders</h2>
        <Orders orders={orders} />
      </section>
      <section aria-label="Runs">
        <h2>Runs</h2>
        <Runs runs={runs} />
      </section>
      <section aria-label="Entry">
        <h2>As entered</h2>
        <Fields row={title} />
      </section>
    </Subject>
  );
}

export function OrderPage({ code }: { code: string }) {
  const data = use_data<Order>(path.order(code));
  const { zone } = use_settings();
  if (!data.data) return <Loading data={data} what="the order" />;
  const { standing: now, order, runs, approvals } = data.data;
  return (
    <Subject
      state={now.late ? "out" : worst_of(now.counts, now.heard)}
      what={
        <>
          Order {now.code} of <a href={href("title", now.title)}>{now.name}</a>
          {now.customer && <> for {now.customer}</>}
        </>
      }
      name={`${now.done} of ${now.quantity} done`}
      stands={`${now.due_ms === null ? "no day promised" : `due ${instant(now.due_ms, zone).slice(0, 10)}`}${now.late ? ", late" : ""} · ${heard_words(now.heard)}`}
    >
      <Ledger counts={now.counts} />
      <section aria-label="Runs">
        <h2>Runs</h2>
        <Runs runs={runs} />
      </section>
      <section aria-label="Approvals">
        <h2>Approval</h2>
        {approvals.length === 0 ? (
          <p class="quiet">None yet: no run starts without it.</p>
        ) : (
          <Rows caption="Approvals" rows={approvals} />
        )}
      </section>
      <section aria-label="Entry">
        <h2>As entered</h2>
        <Fields row={order} />
      </section>
    </Subject>
  );
}

export function PartPage({ code }: { code: string }) {
  const data = use_data<Part>(path.part(code));
  const { zone } = use_settings();
  if (!data.data) return <Loading data={data} what="the part" />;
  const { part, ancestors, children, steps, mountings, closings, heard } = data.data;
  const now = text_of(part.state);
  const state: State =
    now === "scrapped"
      ? "scrap"
      : now === "withdrawn"
        ? "out"
        : heard && heard.passed < heard.plays
          ? "suspect"
          : (heard && heard.plays > 0) || now === "ready" || now === "on press"
            ? "good"
            : "unknown";
  const side = text_of(part.side);
  return (
    <Subject
      state={state}
      what={
        <>
          {capital(text_of(part.kind) || "part")}
          {side && (
            <>
              {" "}
              of side <a href={href("side", side)}>{side}</a>
            </>
          )}
          {ancestors.length > 0 && (
            <>
              {" "}
              · grown from{" "}
              {ancestors.map((one, i) => (
                <>
                  {i > 0 && " ← "}
                  <a href={href("part", one.code)}>
                    {text_of(one.kind)} {one.code}
                  </a>
                </>
              ))}
            </>
          )}
        </>
      }
      name={part.code}
      stands={`${now || "state not known"} · ${count(closings, "closing")}${heard ? ` · ${heard.passed} of ${heard.plays} heard plays within limits, ${count(heard.plain, "plain fault")}` : ""}`}
    >
      {side && heard && (
        <p>
          <a class="main" href={`${href("side", side)}?stamper=${encodeURIComponent(code)}`}>
            Look at its discs
          </a>
        </p>
      )}
      {children.length > 0 && (
        <section aria-label="Grown from it">
          <h2>Grown from it</h2>
          <Rows caption="Grown from it" rows={children} page="part" />
        </section>
      )}
      {mountings.length > 0 && (
        <section aria-label="Mountings">
          <h2>Mountings</h2>
          <Rows caption="Mountings" rows={mountings.map((one) => ({ ...one.mounting, closings: one.closings }))} />
        </section>
      )}
      <section aria-label="Steps">
        <h2>What was done to it</h2>
        {steps.length === 0 ? (
          <p class="quiet">Nothing is entered.</p>
        ) : (
          <ol class="steps">
            {steps.map(({ step, readings }) => (
              <li key={step.code}>
                <b>{text_of(step.what ?? step.step ?? step.kind)}</b>{" "}
                <span class="quiet">
                  {step.at_ms ? instant(Number(step.at_ms), zone) : ""} {text_of(step.who)}
                </span>
                {readings.map((one) => (
                  <span key={one.code}>
                    {" "}
                    · {field_words(text_of(one.what ?? one.kind))} {text_of(one.value)}
                  </span>
                ))}
              </li>
            ))}
          </ol>
        )}
      </section>
      <section aria-label="Entry">
        <h2>As entered</h2>
        <Fields row={part} />
      </section>
    </Subject>
  );
}

export function RunPage({ code }: { code: string }) {
  const data = use_data<Run>(path.run(code));
  if (!data.data) return <Loading data={data} what="the run" />;
  const { run, order, title, press, impressions, counts, heard, tickets, ticket_count, stock, holds } = data.data;
  return (
    <Subject
      state={worst_of(counts, heard)}
      what={
        <>
          Run {run.code} of <a href={href("title", title.code)}>{text_of(title.name)}</a>, order{" "}
          <a href={href("order", order.code)}>{order.code}</a>
          {press && (
            <>
              {" "}
              on <a href={href("thing", press.code)}>{text_of(press.name) || press.code}</a>
            </>
          )}
        </>
      }
      name={count(impressions, "impression")}
      stands={heard_words(heard)}
    >
      <Ledger counts={counts} />
      <section aria-label="Held">
        <h2>Held</h2>
        {counts.suspect > 0 || holds.length > 0 ? (
          <ul class="jobs">
            <RunHolds run={code} suspect={counts.suspect} />
          </ul>
        ) : (
          <p class="quiet">Nothing is held.</p>
        )}
        <HoldForm run={code} impressions={impressions} />
      </section>
      <section aria-label="Samples">
        <h2>Samples</h2>
        <p class="quiet">
          {count(ticket_count, "ticket")}
          {ticket_count > tickets.length ? `, the latest ${tickets.length} shown` : ""}
        </p>
        <Table
          caption="Samples"
          hide_caption
          rows={tickets}
          row_key={(one) => one.code}
          columns={[
            {
              head: "ticket",
              value: (one) => one.code,
              show: (one) => <a href={href("disc", code, text_of(one.first))}>{one.code}</a>,
            },
            {
              head: "impression",
              value: (one) => Number(one.first),
              show: (one) =>
                one.first === one.last ? text_of(one.first) : `${text_of(one.first)}–${text_of(one.last)}`,
              figure: true,
            },
            {
              head: "heard",
              value: (one) => text_of(one.heard),
              show: (one) => (
                <StateWord
                  state={one.heard === "good" ? "good" : one.heard === "bad" ? "out" : "unknown"}
                  words={text_of(one.heard) || "waiting"}
                />
              ),
            },
            { head: "why", value: (one) => text_of(one.reason) },
          ]}
        />
      </section>
      <section aria-label="Where they are">
        <h2>Where they are</h2>
        <Stock stock={stock} />
      </section>
      <section aria-label="Entry">
        <h2>As entered</h2>
        <Fields row={run} />
      </section>
    </Subject>
  );
}

/** Quarantine of a stretch of one run, where somebody has heard or seen something. */
function HoldForm({ run, impressions }: { run: string; impressions: number }) {
  const { session } = use_settings();
  const [first, set_first] = useState("1"),
    [last, set_last] = useState(String(impressions)),
    [reason, set_reason] = useState("");
  const [said, set_said] = useState(""),
    [problem, set_problem] = useState<string | null>(null);
  if (!may(session, "station", "engineer") || impressions === 0) return null;
  const hold = async (event: SubmitEvent) => {
    event.preventDefault();
    try {
      const made = await api.post<{ entry: number; discs: number; shipped: number }>("/api/holds", {
        run,
        impressions: [[Number(first), Number(last)]],
        reason,
      });
      set_said(
        `${count(made.discs, "disc")} held, entry ${made.entry}${made.shipped > 0 ? `; ${made.shipped} have been shipped and cannot be held` : ""}.`,
      );
      set_problem(null);
      tell_changed();
    } catch (error) {
      set_said("");
      set_problem(error instanceof Error ? error.message : String(error));
    }
  };
  return (
    <form class="fields" onSubmit={(event) => void hold(event)}>
      <label>
        First impression
        <input
          type="number"
          min="1"
          max={impressions}
          required
          value={first}
          onInput={(event) => set_first(event.currentTarget.value)}
        />
      </label>
      <label>
        Last
        <input
          type="number"
          min="1"
          max={impressions}
          required
          value={last}
          onInput={(event) => set_last(event.currentTarget.value)}
        />
      </label>
      <label>
        Why
        <input required value={reason} onInput={(event) => set_reason(event.currentTarget.value)} />
      </label>
      <button type="submit" class="main">
        Hold impressions {first}–{last}
      </button>
      <span role="status">{said}</span>
      {problem && (
        <p class="problem" role="alert">
          {problem}
        </p>
      )}
    </form>
  );
}

function Stock({ stock }: { stock: readonly Holding[] }) {
  return (
    <Table
      caption="Discs by place"
      hide_caption
      rows={stock}
      row_key={(one) => `${one.place} ${one.impressions.join("-")} ${one.at ?? ""} ${one.reason ?? ""}`}
      columns={[
        { head: "place", value: (one) => one.place.replaceAll("_", " ") },
        {
          head: "impressions",
          value: (one) => one.impressions[0],
          show: (one) =>
            one.impressions[0] === one.impressions[1]
              ? one.impressions[0]
              : `${one.impressions[0]}–${one.impressions[1]}`,
          figure: true,
        },
        { head: "discs", value: (one) => one.quantity, figure: true },
        {
          head: "at",
          value: (one) => one.at ?? "",
          show: (one) => (one.at ? <a href={href("thing", one.at)}>{one.at}</a> : ""),
        },
        { head: "why", value: (one) => one.reason ?? "" },
      ]}
    />
  );
}

export function Plays({ plays }: { plays: readonly Play[] }) {
  const { zone, system } = use_settings();
  return (
    <Table
      caption="Heard plays"
      hide_caption
      rows={plays}
      row_key={(one) => one.report}
      most={60}
      columns={[
        {
          head: "report",
          value: (one) => one.report,
          show: (one) => <a href={href("bench", one.report)}>{one.report}</a>,
        },
        {
          head: "verdict",
          value: (one) => (one.pass ? "within limits" : "outside limits"),
          show: (one) => <StateWord state={one.pass ? "good" : "out"} words={one.pass ? "within" : "outside"} />,
        },
        { head: "side", value: (one) => one.letter },
        {
          head: "stamper",
          value: (one) => one.stamper,
          show: (one) => one.stamper && <a href={href("part", one.stamper)}>{one.stamper}</a>,
        },
        {
          head: "impression",
          value: (one) => one.impression[0],
          show: (one) => <a href={href("disc", one.run, one.impression[0])}>{one.impression[0]}</a>,
          figure: true,
        },
        { head: "plain", value: (one) => one.plain, figure: true },
        { head: "slight", value: (one) => one.slight, figure: true },
        {
          head: "offset",
          value: (one) => one.eccentricity_m,
          show: (one) => (one.eccentricity_m === null ? "–" : small_length(one.eccentricity_m, system, 2)),
          figure: true,
        },
        {
          head: "noise",
          value: (one) => one.weighted_noise_dB,
          show: (one) => decibel(one.weighted_noise_dB),
          figure: true,
        },
        { head: "played", value: (one) => `${one.play}, ${one.after}` },
        { head: "heard", value: (one) => one.at_ms, show: (one) => instant(one.at_ms, zone) },
      ]}
    />
  );
}

export function DiscPage({ run, impression }: { run: string; impression: string }) {
  const data = use_data<Disc>(path.disc(run, impression));
  if (!data.data) return <Loading data={data} what="the disc" />;
  const disc = data.data;
  const failed = disc.plays.find((play) => !play.pass),
    state: State = failed
      ? "out"
      : disc.plays.length > 0
        ? "good"
        : disc.now.some((one) => one.place === "suspect")
          ? "suspect"
          : "unknown";
  const chain = (rows: Row[]) =>
    rows.map((row, i) => (
      <>
        {i > 0 && " ← "}
        <a href={href("part", row.code)}>
          {text_of(row.kind)} {row.code}
        </a>
      </>
    ));
  const last = failed ?? disc.plays[disc.plays.length - 1];
  return (
    <Subject
      state={state}
      what={
        <>
          A disc of <a href={href("title", disc.title.code)}>{text_of(disc.title.name)}</a>, run{" "}
          <a href={href("run", run)}>{run}</a>, order <a href={href("order", disc.order.code)}>{disc.order.code}</a>
        </>
      }
      name={`Impression ${disc.impression}`}
      stands={
        <>
          {disc.now.length === 0
            ? "where it is, is not known"
            : disc.now
                .map(
                  (one) =>
                    `${one.sure === false ? "perhaps " : ""}${one.place.replaceAll("_", " ")}${one.at ? ` ${one.at}` : ""}`,
                )
                .join(", ")}
          {disc.title_impression !== null && ` · number ${disc.title_impression} of the title`}
        </>
      }
    >
      {last && (
        <p>
          <a class="main" href={href("bench", last.report)}>
            Open {last.report} at the bench
          </a>
        </p>
      )}
      <section aria-label="Where it came from">
        <h2>Where it came from</h2>
        <dl class="figures">
          <dt>Side A</dt>
          <dd>
            {disc.side_a.length > 0 ? chain(disc.side_a) : "not known"}{" "}
            <span class="quiet">{disc.age_a} closings before</span>
          </dd>
          <dt>Side B</dt>
          <dd>
            {disc.side_b.length > 0 ? chain(disc.side_b) : "not known"}{" "}
            <span class="quiet">{disc.age_b} closings before</span>
          </dd>
          <dt>Mounting</dt>
          <dd>{disc.mounting ? <a href={href("thing", disc.mounting.code)}>{disc.mounting.code}</a> : "not known"}</dd>
          <dt>Press</dt>
          <dd>
            {disc.press ? (
              <a href={href("thing", disc.press.code)}>{text_of(disc.press.name) || disc.press.code}</a>
            ) : (
              "not known"
            )}
          </dd>
          <dt>Compound</dt>
          <dd>
            {disc.batch ? <a href={href("thing", disc.batch.code)}>{disc.batch.code}</a> : "not known"}{" "}
            {disc.batch && text_of(disc.batch.material)} {disc.batch && text_of(disc.batch.colour)}
            {disc.lots.length > 0 && (
              <span class="quiet"> from lots {disc.lots.map((lot) => text_of(lot.lot) || lot.code).join(", ")}</span>
            )}
          </dd>
        </dl>
      </section>
      <section aria-label="Heard">
        <h2>Heard</h2>
        {disc.plays.length === 0 ? <p class="quiet">Not heard yet.</p> : <Plays plays={disc.plays} />}
      </section>
    </Subject>
  );
}

/** Rows of one kind as a table: every field that any of them has. */
export function Rows({ caption, rows, page }: { caption: string; rows: readonly Row[]; page?: string }) {
  const fields = [...new Set(rows.flatMap((row) => Object.keys(row)))]
    .filter((field) => !["code", "id", "uid"].includes(field))
    .slice(0, 8);
  return (
    <Table
      caption={caption}
      hide_caption
      rows={rows}
      row_key={(row) => row.code}
      columns={[
        {
          head: "code",
          value: (row) => row.code,
          show: (row) => <a href={page ? href(page, row.code) : href("thing", row.code)}>{row.code}</a>,
        },
        ...fields.map((field) => ({
          head: field_words(field),
          value: (row: Row) => (row[field] as string | number | null) ?? null,
          show: (row: Row) => <Value field={field} value={row[field]} />,
          figure: rows.every((row) => typeof row[field] === "number" && !field.endsWith("_ms")),
        })),
      ]}
    />
  );
}

export function ThingPage({ code }: { code: string }) {
  const data = use_data<Thing>(path.thing(code));
  if (!data.data) return <Loading data={data} what="the entry" />;
  const { kind, row, named_by } = data.data;
  const to = link_to(kind, code);
  return (
    <Subject state="unknown" what={capital(kind)} name={code} stands={text_of(row.name ?? row.state ?? row.what)}>
      {to && !to.startsWith("/thing") && (
        <p>
          <a class="main" href={to}>
            Open {kind} {code}
          </a>
        </p>
      )}
      <section aria-label="Entry">
        <h2>As entered</h2>
        <Fields row={row} />
      </section>
      {named_by.map((one) => (
        <section key={`${one.kind} ${one.field}`} aria-label={`${one.kind} by ${one.field}`}>
          <h2>
            {capital(one.kind)}: {count(one.count, "entry", "entries")} name it as {field_words(one.field)}
          </h2>
          <Rows caption={one.kind} rows={one.rows} />
        </section>
      ))}
    </Subject>
  );
}

/** The whole line: what waits at each station, and the open orders. */
export function Overview({ line, station }: { line: LineNow | null; station: string | null }) {
  if (!line)
    return (
      <main id="main" tabIndex={-1} class="desk">
        <Waiting what="the line" />
      </main>
    );
  const shown = station === null ? line.stations : line.stations.filter((one) => one.station === station);
  return (
    <main id="main" tabIndex={-1} class="desk">
      <header class="subject">
        <h1>{station === null ? line.works : capital(station)}</h1>
        <p class="counts">{count(line.open_orders, "open order")}</p>
      </header>
      <section aria-label="What waits">
        <h2>What waits</h2>
        <ul class="stations">
          {shown.map((one) => (
            <li key={one.station}>
              <h3>
                <StateWord state={one.state} words={capital(one.station)} />
              </h3>
              <p>
                <b>{one.waiting}</b> {one.waiting_for}
              </p>
              {one.detail.map((sentence) => (
                <p key={sentence} class="quiet">
                  {sentence}
                </p>
              ))}
            </li>
          ))}
        </ul>
      </section>
      <section aria-label="Open orders">
        <h2>Open orders</h2>
        <Orders orders={line.orders} />
      </section>
    </main>
  );
}
