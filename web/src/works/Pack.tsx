import type { RefObject } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { api, type LineNow, path } from "../api";
import { use_kept } from "../hooks";
import { use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { Shape, type State, StateWord } from "../parts/State";
import { Table } from "../parts/Table";
import { go, href } from "../router";
import { may, use_settings } from "../settings";
import { count, fixed, text_of } from "../units";
import { type Act, Caution, Field, Paper, Told, use_act, whole } from "./act";
import { asked, type Carton, type Entered, type Packing, type Scanned, written } from "./api";

/** Which order is packed. */
export function PackHome() {
  const line = use_data<LineNow>(path.line);
  const scanning = use_scanning(null);
  return (
    <main id="main" tabIndex={-1} class="desk by-hand at-bench">
      <header class="subject">
        <p class="what">Dispatch</p>
        <h1>Pack and ship</h1>
        <p class="counts">Scan a carton, a spindle or an order, or choose the order.</p>
      </header>
      <ScanField scanning={scanning} />
      <Told act={scanning.act} undo={false} />
      <ul class="stacks" aria-label="Open orders">
        {(line.data?.orders ?? []).map((one) => (
          <li key={one.code}>
            <a class="press-card" href={href("pack", one.code)}>
              <b>{one.name}</b>
              <span class="big-count">{one.counts.good_stock + one.counts.packed}</span>
              <span class="quiet">
                good or packed; {one.counts.shipped} of {one.quantity} shipped
              </span>
              <span class="quiet">{one.code}</span>
            </a>
          </li>
        ))}
      </ul>
      {!line.data && <Waiting what="the orders" />}
    </main>
  );
}

/** What is in the packer's hand: a carton to be counted, or a shipment that is loaded. */
interface Hand {
  carton: Scanned | null;
  shipment: string | null;
  load: string[];
}
const empty_hand: Hand = { carton: null, shipment: null, load: [] };

interface Scanning {
  act: Act;
  hand: Hand;
  set_hand: (hand: Hand) => void;
  field: RefObject<HTMLInputElement>;
  take: (text: string) => Promise<void>;
  per: string;
  set_per: (per: string) => void;
  log: string[];
}

/** Fewer figures than any code has: what is counted, not what is scanned. */
export const is_count = (text: string) => /^\d{1,4}$/.test(text.trim());

/** A scan does the next act of what was scanned. */
function use_scanning(order: string | null): Scanning {
  const act = use_act();
  const [hand, set_hand] = useState<Hand>(empty_hand);
  const [log, set_log] = useState<string[]>([]);
  const [per, set_per] = use_kept<string>("per_carton", "25");
  const field = useRef<HTMLInputElement>(null);
  const note = (words: string) => set_log((before) => [words, ...before].slice(0, 8));
  const close = async (carton: string, counted: number) => {
    const made = await act.send<Entered & { discs: number; sscc: string | null }>(
      written.close(carton),
      { counted },
      ({ discs, sscc }) => `${carton} is closed with ${count(discs, "disc")}${sscc ? `, SSCC ${sscc}` : ""}.`,
    );
    note(made ? `${carton} closed, ${counted}` : `${carton} refused at ${counted}`);
    if (made) set_hand({ ...hand, carton: null });
  };
  const fill = async (from: string, spindle: string) => {
    const made = await act.send<Entered & { discs: number; left: number; cartons: { code: string }[] }>(
      written.cartons(from),
      { per_carton: whole(per) ?? 0, spindle },
      ({ discs, left, cartons }) =>
        `${count(discs, "disc")} off ${spindle} into ${cartons.map((one) => one.code).join(", ")}; ${left} good ones stay.`,
    );
    if (made) note(`${spindle}: ${count(made.cartons.length, "carton")}`);
  };
  const take = async (text: string) => {
    const said = text.trim();
    if (said === "") return;
    if (is_count(said) && hand.carton) return close(hand.carton.code, Number(said));
    let scanned: Scanned;
    try {
      scanned = await api.get<Scanned>(asked.scan(said));
    } catch (error) {
      note(`${said}: not known`);
      return act.refuse(error instanceof Error ? error.message : String(error));
    }
    const { code, next } = scanned;
    act.clear();
    if (scanned.order && scanned.order !== order && next !== "look") {
      note(`${code}: order ${scanned.order}`);
      return go(`${href("pack", scanned.order)}${next === "order" ? "" : `?scanned=${encodeURIComponent(code)}`}`);
    }
    if (next === "count") {
      set_hand({ ...hand, carton: scanned });
      note(`${code} in hand`);
    } else if (next === "ship") {
      set_hand({ carton: null, shipment: code, load: hand.shipment === code ? hand.load : [] });
      note(`${code} is loaded`);
    } else if (next === "load" && hand.shipment) {
      if (!hand.load.includes(code)) set_hand({ ...hand, load: [...hand.load, code] });
      note(`${code} on ${hand.shipment}`);
    } else if (next === "fill" && scanned.order) await fill(scanned.order, code);
    else {
      note(scanned.words);
      act.refuse(
        next === "load" ? `${scanned.words}. Scan or choose the shipment that it goes with first.` : `${scanned.words}.`,
      );
    }
  };
  return { act, hand, set_hand, field, take, per, set_per, log };
}

/** The field that a scanner types into. It has the focus whenever nothing else is worked with. */
function ScanField({ scanning }: { scanning: Scanning }) {
  const [text, set_text] = useState("");
  const { field, hand } = scanning;
  useEffect(() => {
    // After the page has gone to the new view's top.
    const first = setTimeout(() => field.current?.focus({ preventScroll: true }));
    const back = (event: KeyboardEvent) => {
      const on = event.target as HTMLElement | null;
      if (event.ctrlKey || event.metaKey || event.altKey || event.key.length !== 1) return;
      if (/^(INPUT|SELECT|TEXTAREA)$/.test(on?.tagName ?? "") || event.key === " ") return;
      field.current?.focus({ preventScroll: true });
    };
    // A touch beside everything gives the field back to the scanner; Tab may leave it.
    const touched = (event: MouseEvent) => {
      if (!(event.target as Element | null)?.closest?.("a, button, input, select, textarea, label, summary, [tabindex='0']"))
        setTimeout(() => field.current?.focus({ preventScroll: true }));
    };
    addEventListener("keydown", back, true);
    addEventListener("mouseup", touched);
    return () => {
      clearTimeout(first);
      removeEventListener("keydown", back, true);
      removeEventListener("mouseup", touched);
    };
  }, []);
  return (
    <form
      class="scan"
      onSubmit={(event) => {
        event.preventDefault();
        const now = text;
        set_text("");
        void scanning.take(now).finally(() => field.current?.focus({ preventScroll: true }));
      }}
    >
      <label for="scan">{hand.carton ? `Count of ${hand.carton.code}, or the next scan` : "Scan"}</label>
      <input
        id="scan"
        ref={field}
        class="big-figure"
        autocomplete="off"
        spellcheck={false}
        value={text}
        placeholder={hand.carton ? String(hand.carton.capacity ?? "") : "carton, SSCC, spindle, shipment"}
        onInput={(event) => set_text(event.currentTarget.value)}
      />
      <button type="submit" class="main">
        Do it
      </button>
    </form>
  );
}

const carton_state = (one: Carton): State =>
  one.suspect > 0 ? "suspect" : one.state === "gone" ? "shipped" : one.state === "closed" ? "good" : "unknown";

/** One order at the packing bench. */
export function Pack({ order, scanned }: { order: string; scanned: string | null }) {
  const { data, error, again } = use_data<Packing>(asked.packing(order));
  const { session } = use_settings();
  const scanning = use_scanning(order);
  const { act, hand, set_hand } = scanning;
  const allowed = may(session, "station", "clerk", "engineer");
  // A scan at another order's bench led here: it goes on here.
  useEffect(() => {
    if (!scanned) return;
    go(href("pack", order), true);
    void scanning.take(scanned);
  }, []);
  if (!data)
    return (
      <main id="main" tabIndex={-1} class="desk">
        {error ? <Problem error={error} again={again} /> : <Waiting what="the packing" />}
      </main>
    );
  const ship = async () => {
    if (!hand.shipment) return;
    const made = await act.send<Entered & { discs: number }>(
      written.ship(hand.shipment),
      { units: hand.load },
      ({ discs }) => `${count(discs, "disc")} have left with ${hand.shipment}.`,
    );
    if (made) set_hand(empty_hand);
  };
  const open = (data.states.find((one) => one.state === "open")?.cartons ?? 0) > 0;
  return (
    <main id="main" tabIndex={-1} class="desk by-hand at-bench">
      <header class="subject">
        <p class="what">
          Dispatch · order <a href={href("order", order)}>{order}</a>
          {data.customer && ` for ${data.customer}`}
        </p>
        <h1>
          {data.shipped} of {count(data.quantity, "disc")} shipped
        </h1>
        <p class="counts">
          {data.name}: {count(data.good, "disc")} good and not packed, {data.packed} packed
          {data.suspect > 0 && `, ${data.suspect} suspect`}
        </p>
      </header>
      {allowed ? <ScanField scanning={scanning} /> : <p class="quiet">You may look; packing is for those who pack.</p>}
      <InHand scanning={scanning} ship={ship} />
      <Told act={act} />
      <div class="columns">
        <Cartons data={data} scanning={scanning} allowed={allowed} open={open} />
        <div class="side-part">
          <Fill order={order} data={data} scanning={scanning} allowed={allowed} />
          <Shipments data={data} scanning={scanning} allowed={allowed} />
          {scanning.log.length > 0 && (
            <section aria-label="Last scans">
              <h2>Last scans</h2>
              <ol class="quiet-list">
                {scanning.log.map((one, i) => (
                  <li key={`${i} ${one}`}>{one}</li>
                ))}
              </ol>
            </section>
          )}
        </div>
      </div>
      <Caution text={data.caution} />
    </main>
  );
}

function InHand({ scanning, ship }: { scanning: Scanning; ship: () => Promise<void> }) {
  const { act, hand, set_hand } = scanning;
  const { carton } = hand;
  if (!carton && !hand.shipment) return null;
  const part = async () => {
    if (!carton) return;
    const counted = scanning.field.current?.value ?? "";
    if (whole(counted) === null) return act.refuse("Type the count into the field first, then close the part carton.");
    const made = await act.send<Entered & { discs: number }>(
      written.close(carton.code),
      { counted: whole(counted), part: true },
      ({ discs }) => `${carton.code} is closed as a part carton with ${count(discs, "disc")}.`,
    );
    if (made) set_hand({ ...hand, carton: null });
  };
  return (
    <section class="in-hand" aria-label="In hand">
      {carton && (
        <p>
          <b>{carton.code}</b> is in hand: count the discs and type or scan the count.{" "}
          <button type="button" class="touch" disabled={act.busy} onClick={() => void part()}>
            Close it as a part carton
          </button>{" "}
          <button type="button" onClick={() => set_hand({ ...hand, carton: null })}>
            Put it down
          </button>
        </p>
      )}
      {hand.shipment && (
        <p>
          <b>{hand.shipment}</b> is being loaded:{" "}
          {hand.load.length === 0 ? "scan what goes with it." : hand.load.join(", ")}{" "}
          <button type="button" class="main touch" disabled={act.busy || hand.load.length === 0} onClick={() => void ship()}>
            Ship {count(hand.load.length, "unit")}
          </button>{" "}
          <button type="button" onClick={() => set_hand(empty_hand)}>
            Leave it
          </button>
        </p>
      )}
    </section>
  );
}

function Cartons({
  data,
  scanning,
  allowed,
  open,
}: {
  data: Packing;
  scanning: Scanning;
  allowed: boolean;
  open: boolean;
}) {
  const { act, hand } = scanning;
  const closed = data.cartons.filter((one) => one.state === "closed" && !one.pallet).map((one) => one.code);
  const stack = () =>
    act.send(written.pallet(data.order), { cartons: closed }, (made) => `Pallet ${made.code} holds ${closed.length}.`);
  const pull = () =>
    act.send<Entered & { discs: number }>(written.pull(data.order), {}, ({ discs }) => `${discs} suspect discs are out.`);
  return (
    <section aria-label="Cartons">
      <h2>Cartons</h2>
      <p class="ledger">
        {data.states.map((one) => (
          <span key={one.state}>
            {one.state} <b>{one.cartons}</b>
          </span>
        ))}
        {data.states.length === 0 && <span class="quiet">No carton yet.</span>}
      </p>
      <Table
        caption="Cartons, open ones first"
        hide_caption
        rows={data.cartons}
        row_key={(one) => one.code}
        most={60}
        columns={[
          {
            head: "carton",
            value: (one) => one.code,
            show: (one) => <a href={href("thing", one.code)}>{one.code}</a>,
          },
          {
            head: "state",
            value: (one) => one.state,
            show: (one) => <StateWord state={carton_state(one)} words={one.suspect > 0 ? "suspect inside" : one.state} />,
          },
          { head: "discs", value: (one) => one.discs, show: (one) => `${one.discs} of ${one.capacity}`, figure: true },
          {
            head: "mass",
            value: (one) => one.gross_kg,
            show: (one) => (one.gross_kg === null ? "–" : `${fixed(one.gross_kg, 2)}\u2009kg`),
            figure: true,
          },
          {
            head: "number",
            value: (one) => one.sscc ?? one.pallet ?? one.shipment ?? "",
            show: (one) => <span class="code">{one.sscc ?? one.pallet ?? one.shipment ?? ""}</span>,
          },
          {
            head: "do",
            value: () => null,
            show: (one) => (
              <span class="acts">
                {one.state === "open" && allowed && (
                  <button
                    type="button"
                    aria-label={`Take ${one.code} in hand`}
                    aria-pressed={hand.carton?.code === one.code}
                    onClick={() => void scanning.take(one.code).finally(() => scanning.field.current?.focus())}
                  >
                    In hand
                  </button>
                )}
                {one.state === "closed" && hand.shipment && allowed && (
                  <button type="button" aria-label={`Load ${one.code}`} onClick={() => void scanning.take(one.code)}>
                    Load
                  </button>
                )}
                {one.state === "closed" && allowed && <OpenAgain code={one.code} act={act} />}
                <Paper href={asked.label(one.code)} svg={asked.label(one.code, "svg")}>
                  Label
                </Paper>
              </span>
            ),
          },
        ]}
      />
      {allowed && (
        <p class="acts">
          {closed.length > 1 && (
            <button type="button" disabled={act.busy} onClick={() => void stack()}>
              Stack {count(closed.length, "closed carton")} on a pallet
            </button>
          )}
          {data.suspect > 0 && (
            <button type="button" disabled={act.busy} onClick={() => void pull()}>
              Pull the suspect discs out
            </button>
          )}
          {open && <span class="quiet">An open carton is closed by its scan and its count.</span>}
        </p>
      )}
    </section>
  );
}

function OpenAgain({ code, act }: { code: string; act: Act }) {
  return (
    <button
      type="button"
      aria-label={`Open ${code} again`}
      disabled={act.busy}
      onClick={() =>
        void act.send(
          written.open(code),
          { reason: "opened at the packing bench" },
          () => `${code} is open: take its label off, its number is void.`,
        )
      }
    >
      Open
    </button>
  );
}

function Fill({
  order,
  data,
  scanning,
  allowed,
}: {
  order: string;
  data: Packing;
  scanning: Scanning;
  allowed: boolean;
}) {
  const { act, per, set_per } = scanning;
  const [part, set_part] = useState(false);
  if (!allowed) return null;
  const fill = async (event: SubmitEvent) => {
    event.preventDefault();
    await act.send<Entered & { discs: number; left: number; cartons: { code: string; discs: number }[] }>(
      written.cartons(order),
      { per_carton: whole(per) ?? 0, part },
      (made) =>
        `${count(made.discs, "disc")} in ${count(made.cartons.length, "carton")}; ${made.left} good ones stay. Count each and close it.`,
    );
  };
  return (
    <section aria-label="Fill cartons">
      <h2>Fill cartons</h2>
      <form class="fields" onSubmit={(event) => void fill(event)}>
        <Field label="Discs to a carton">
          <input
            class="big-figure"
            inputMode="numeric"
            required
            value={per}
            onInput={(event) => set_per(event.currentTarget.value.replace(/\D/g, ""))}
          />
        </Field>
        <label class="touch-choice">
          <input type="checkbox" checked={part} onChange={(event) => set_part(event.currentTarget.checked)} /> the last
          may be a part carton
        </label>
        <button type="submit" class="touch" disabled={act.busy || data.good === 0}>
          Fill from {count(data.good, "good disc")}
        </button>
      </form>
      <p class="quiet">Or scan a spindle: its good discs go into cartons in the order they lie.</p>
    </section>
  );
}

function Shipments({ data, scanning, allowed }: { data: Packing; scanning: Scanning; allowed: boolean }) {
  const { act } = scanning;
  const [to, set_to] = useState(data.customer ?? ""),
    [delivery, set_delivery] = useState(""),
    [carrier, set_carrier] = useState("");
  const enter = async (event: SubmitEvent) => {
    event.preventDefault();
    const place = data.deliveries.find((one) => one.code === delivery);
    const made = await act.send(
      written.thing,
      {
        kind: "shipment",
        fields: { order: data.order, to: place ? text_of(place.to) : to, carrier, ...(delivery ? { delivery } : {}) },
      },
      (entered) => `Shipment ${entered.code}: scan what goes with it.`,
    );
    if (made?.code) scanning.set_hand({ carton: null, shipment: made.code, load: [] });
  };
  return (
    <section aria-label="Shipments">
      <h2>Shipments</h2>
      <ul class="jobs">
        {data.shipments.map((one) => (
          <li key={one.code}>
            <Shape state={one.state === "gone" ? "shipped" : "unknown"} />
            <a href={href("thing", one.code)}>{one.code}</a> {text_of(one.state)} to {text_of(one.to)}
            {one.state === "open" && allowed && (
              <button type="button" onClick={() => void scanning.take(one.code)}>
                Load it
              </button>
            )}
            <Paper href={asked.paper("packing-list", one.code)}>Packing list</Paper>
            <Paper href={asked.paper("consignment-note", one.code)}>Note</Paper>
          </li>
        ))}
        {data.shipments.length === 0 && <li class="quiet">None yet.</li>}
      </ul>
      {allowed && (
        <form class="fields" onSubmit={(event) => void enter(event)} aria-label="Begin a shipment">
          {data.deliveries.length > 0 && (
            <Field label="For the place">
              <select value={delivery} onChange={(event) => set_delivery(event.currentTarget.value)}>
                <option value="">another</option>
                {data.deliveries.map((one) => (
                  <option key={one.code} value={one.code}>
                    {text_of(one.to)}, {text_of(one.quantity)}
                  </option>
                ))}
              </select>
            </Field>
          )}
          {delivery === "" && (
            <Field label="Where to">
              <input required value={to} onInput={(event) => set_to(event.currentTarget.value)} />
            </Field>
          )}
          <Field label="Carrier">
            <input value={carrier} onInput={(event) => set_carrier(event.currentTarget.value)} />
          </Field>
          <button type="submit" class="touch" disabled={act.busy}>
            Begin a shipment
          </button>
        </form>
      )}
    </section>
  );
}
