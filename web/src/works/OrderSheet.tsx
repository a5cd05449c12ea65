import { useState } from "preact/hooks";
import type { Order } from "../api";
import { use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { Shape, type State } from "../parts/State";
import { Table } from "../parts/Table";
import { href } from "../router";
import { may, use_settings } from "../settings";
import { count, instant } from "../units";
import { Field, figure, Paper, Told, use_act } from "./act";
import { asked, type Owed, written } from "./api";

interface Stretch {
  name: string;
  discs: number;
  state: State;
  fill: string;
}

/** Where the order's discs are on their way, the furthest first; what is missing of the quantity is still to be pressed. */
export function stretches(order: Order): Stretch[] {
  const { counts, quantity } = order.standing;
  const all: Stretch[] = [
    { name: "shipped", discs: counts.shipped, state: "shipped", fill: "solid" },
    { name: "packed", discs: counts.packed, state: "good", fill: "packed" },
    { name: "inspected and good", discs: counts.good_stock, state: "good", fill: "inspected" },
    { name: "pressed, to be inspected", discs: counts.pressed + counts.edge_finished, state: "unknown", fill: "open" },
    { name: "suspect", discs: counts.suspect, state: "suspect", fill: "hatched" },
  ];
  const there = all.reduce((sum, one) => sum + one.discs, 0);
  return [
    ...all,
    { name: "still to be pressed", discs: Math.max(0, quantity - there), state: "unknown" as State, fill: "none" },
  ].filter((one) => one.discs > 0);
}

/** The order as one bar: as long as what was ordered, or as what was made where that is more. */
function OrderBar({ order }: { order: Order }) {
  const parts = stretches(order);
  const sum = Math.max(
    order.standing.quantity,
    parts.reduce((all, one) => all + one.discs, 0),
  );
  const ordered = order.standing.quantity / sum;
  let at = 0;
  return (
    <figure class="order-bar" aria-label="Where the order's discs are">
      <svg viewBox="0 0 1000 56" preserveAspectRatio="none" aria-hidden="true">
        <defs>
          <pattern id="order-hatch" width="10" height="10" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
            <rect width="4" height="10" class="hatch-ink" />
          </pattern>
        </defs>
        {parts.map((one) => {
          const x = (at / sum) * 1000,
            width = (one.discs / sum) * 1000;
          at += one.discs;
          return <rect key={one.name} x={x} y="8" width={width} height="40" class={`stretch stretch-${one.fill}`} />;
        })}
        <path d={`M${ordered * 1000 - 1} 0V56`} class="ordered-mark" />
      </svg>
      <figcaption>
        {parts.map((one) => (
          <span key={one.name}>
            <Shape state={one.state} /> {one.name} <b>{figure(one.discs)}</b>
          </span>
        ))}
        <span class="quiet">mark: {figure(order.standing.quantity)} ordered</span>
      </figcaption>
    </figure>
  );
}

function Deliveries({ owed }: { owed: Owed }) {
  const { zone } = use_settings();
  return (
    <Table
      caption="What is owed, by place"
      hide_caption
      rows={owed.deliveries}
      row_key={(one) => one.code}
      columns={[
        { head: "place", value: (one) => one.to },
        { head: "ordered", value: (one) => one.ordered, figure: true },
        { head: "shipped", value: (one) => one.shipped, figure: true },
        { head: "credited", value: (one) => one.credited, figure: true },
        { head: "owed", value: (one) => one.owed, show: (one) => <b>{one.owed}</b>, figure: true },
        {
          head: "due",
          value: (one) => one.due_ms,
          show: (one) => (one.due_ms === null ? "–" : instant(one.due_ms, zone).slice(0, 10)),
        },
      ]}
    />
  );
}

/** What of an order is pressed, inspected, packed, shipped and owed. */
export function OrderOwed({ order }: { order: Order }) {
  const code = order.order.code;
  const { data, error, again } = use_data<Owed>(asked.owed(code));
  const { zone } = use_settings();
  return (
    <section aria-label="What is owed">
      <h2>What is owed</h2>
      <OrderBar order={order} />
      {error && <Problem error={error} again={again} />}
      {!data && !error && <Waiting what="what is owed" />}
      {data && (
        <>
          <p class="owed">
            <b>{count(data.owed, "disc")}</b> owed of {figure(data.ordered)} ordered
            {data.credited > 0 && `, ${data.credited} credited`}
            {data.most > data.ordered && `; the customer takes up to ${data.most}`}.
          </p>
          {data.deliveries.length > 0 && <Deliveries owed={data} />}
          {data.shipments.length > 0 && (
            <ul class="jobs" aria-label="Shipments that have left">
              {data.shipments.map((one) => (
                <li key={one.code}>
                  <a href={href("thing", one.code)}>{one.code}</a> {instant(one.at_ms, zone)} to {one.to}:{" "}
                  {count(one.discs, "disc")} in {count(one.cartons, "carton")}
                  <Paper href={asked.paper("packing-list", one.code)}>Packing list</Paper>
                  <Paper href={asked.paper("consignment-note", one.code)}>Consignment note</Paper>
                </li>
              ))}
            </ul>
          )}
        </>
      )}
    </section>
  );
}

const decisions = [
  ["sent", "Sent to the customer"],
  ["approved", "Approved"],
  ["refused", "Refused"],
  ["waived", "Waived, signed"],
] as const;

/** The test pressing: sent, and what the customer says of it. Without it no production run starts. */
export function Approve({ order }: { order: string }) {
  const { session } = use_settings();
  const act = use_act();
  const [decision, set_decision] = useState("approved"),
    [ticket, set_ticket] = useState(""),
    [words, set_words] = useState("");
  if (!may(session, "clerk", "engineer")) return null;
  const enter = async (event: SubmitEvent) => {
    event.preventDefault();
    const made = await act.send(
      written.approval(order),
      { decision, words, ...(ticket.trim() ? { ticket: ticket.trim() } : {}) },
      () => `The test pressing is ${decision}.`,
    );
    if (made) set_words("");
  };
  return (
    <form class="sheet-form" onSubmit={(event) => void enter(event)} aria-label="Enter an approval">
      <fieldset class="touch-choices">
        <legend>The test pressing is</legend>
        {decisions.map(([value, said]) => (
          <label key={value} class="touch-choice">
            <input
              type="radio"
              name="decision"
              checked={decision === value}
              onChange={() => set_decision(value)}
            />{" "}
            {said}
          </label>
        ))}
      </fieldset>
      <div class="fields">
        {decision !== "waived" && (
          <Field label="Ticket of the disc">
            <input
              value={ticket}
              autocomplete="off"
              required
              onInput={(event) => set_ticket(event.currentTarget.value)}
            />
          </Field>
        )}
        <Field label={decision === "waived" ? "Who waives it, and why" : "What was said"}>
          <input
            value={words}
            autocomplete="off"
            required={decision === "waived" || decision === "refused"}
            onInput={(event) => set_words(event.currentTarget.value)}
          />
        </Field>
        <button type="submit" class="main" disabled={act.busy}>
          Enter: {decision}
        </button>
      </div>
      <Told act={act} />
    </form>
  );
}

/** What may be done with the order as a whole. */
export function OrderActs({ order }: { order: Order }) {
  const { session } = use_settings();
  const code = order.order.code;
  return (
    <section aria-label="What to do next">
      <h2>What to do next</h2>
      <div class="acts">
        <a class="touch" href={href("family", text(order.order.title))}>
          See its metal
        </a>
        <a class="touch" href="/station/press">
          To the presses
        </a>
        <a class="touch" href={href("pack", code)}>
          Pack and ship it
        </a>
        {may(session, "station", "engineer") && (
          <a
            class="touch"
            href={`/enter/run?order=${encodeURIComponent(code)}${order.runs.length === 0 ? "&purpose=test" : ""}`}
          >
            Enter a {order.runs.length === 0 ? "test run" : "run"}
          </a>
        )}
        <Paper href={asked.paper("certificate", code)}>Certificate of inspection</Paper>
        <Paper href={asked.paper("label-proof", text(order.order.title))}>Label proof</Paper>
      </div>
    </section>
  );
}

const text = (value: unknown) => String(value ?? "");
