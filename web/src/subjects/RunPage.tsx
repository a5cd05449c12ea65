import { useState } from "preact/hooks";
import { api, path, type Run } from "../api";
import { tell_changed, use_data } from "../live";
import { StateWord } from "../parts/State";
import { Table } from "../parts/Table";
import { href } from "../router";
import { may, use_settings } from "../settings";
import { RunHolds } from "../trace/TraceView";
import { count, text_of } from "../units";
import { heard_words, Ledger, Loading, Subject, worst_of } from "./Subject";
import { Fields } from "./fields";
import { Stock } from "./tables";
import { SuspectActs } from "../works/SuspectActs";

export function RunPage({ code }: { code: string }) {
  const data = use_data<Run>(path.run(code));
  if (!data.data) return <Loading data={data} what="the run" />;
  const { run, order, title, press, impressions, counts, heard, tickets, ticket_count, stock, holds } = data.data;
  return (
    <Subject
      code={code}
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
        <SuspectActs run={code} suspect={counts.suspect} />
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
  const impression = (name: string, value: string, set: (value: string) => void) => (
    <label>
      {name}
      <input
        type="number"
        min="1"
        max={impressions}
        required
        value={value}
        onInput={(event) => set(event.currentTarget.value)}
      />
    </label>
  );
  return (
    <form class="fields" onSubmit={(event) => void hold(event)}>
      {impression("First impression", first, set_first)}
      {impression("Last", last, set_last)}
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
