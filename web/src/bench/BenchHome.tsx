import { useState } from "preact/hooks";
import { api, type Job, path, type SideStanding, type Ticket } from "../api";
import { tell_changed, use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { Table } from "../parts/Table";
import { href } from "../router";
import { may, use_settings } from "../settings";
import { count, instant, text_of } from "../units";
import { Drop } from "./Drop";
import { Jobs } from "./Jobs";
import { Record } from "./Record";

export function BenchHome() {
  const { session, zone } = use_settings();
  const tickets = use_data<{ tickets: Ticket[]; total: number }>(path.tickets);
  const jobs = use_data<{ jobs: Job[]; running: number; queued: number }>(path.jobs);
  const sides = use_data<{ sides: SideStanding[] }>(path.sides);
  const may_send = may(session, "listener", "station", "engineer");
  const error = jobs.error ?? tickets.error ?? sides.error;
  const waiting = tickets.data?.tickets ?? [];
  return (
    <main id="main" tabIndex={-1} class="desk">
      <header class="subject">
        <h1>The listening bench</h1>
        <p class="counts">
          {tickets.data ? `${count(tickets.data.total, "disc")} to hear` : "…"} ·{" "}
          {jobs.data ? `${jobs.data.running} being analysed, ${jobs.data.queued} queued` : "…"}
        </p>
      </header>
      {error && <Problem error={error} again={jobs.again} />}
      {may_send ? (
        <>
          <Record jobs={jobs.data?.jobs ?? []} />
          <Drop tickets={waiting} jobs={jobs.data?.jobs ?? []} />
        </>
      ) : (
        <p class="quiet">
          Your account may look; to bring captures it needs the role of listener, station or engineer.
        </p>
      )}
      <section aria-label="Analyses">
        <h2>Analyses</h2>
        {jobs.data ? <Jobs jobs={jobs.data.jobs} may_act={may_send} /> : <Waiting what="the analyses" />}
      </section>
      <div class="columns even">
        <section aria-label="To hear">
          <h2>Discs to hear</h2>
          {tickets.data ? (
            <Table
              caption="Tickets that wait, oldest first"
              hide_caption
              most={25}
              rows={waiting}
              row_key={(one) => one.ticket.code}
              columns={[
                { head: "ticket", value: (one) => one.ticket.code },
                {
                  head: "title",
                  value: (one) => one.name,
                  show: (one) => <a href={href("title", one.title)}>{one.name}</a>,
                },
                {
                  head: "run",
                  value: (one) => text_of(one.ticket.run),
                  show: (one) =>
                    text_of(one.ticket.run) && (
                      <a href={href("run", text_of(one.ticket.run))}>{text_of(one.ticket.run)}</a>
                    ),
                },
                { head: "why", value: (one) => text_of(one.ticket.reason) },
                ...(may(session, "listener", "engineer")
                  ? [{ head: "by ear", value: () => "", show: (one: Ticket) => <ByEar ticket={one.ticket.code} /> }]
                  : []),
              ]}
            />
          ) : (
            <Waiting what="the tickets" />
          )}
        </section>
        <section aria-label="Heard sides">
          <h2>Sides heard</h2>
          {sides.data ? (
            <Table
              caption="Sides, last heard first"
              hide_caption
              most={25}
              rows={sides.data.sides}
              row_key={(one) => one.code}
              columns={[
                {
                  head: "side",
                  value: (one) => `${one.name} ${one.letter}`,
                  show: (one) => (
                    <a href={href("side", one.code)}>
                      {one.name}, side {one.letter}
                    </a>
                  ),
                },
                { head: "heard", value: (one) => one.plays, figure: true },
                { head: "within limits", value: (one) => one.passed, figure: true },
                {
                  head: "last",
                  value: (one) => one.last_ms,
                  show: (one) => (one.last_ms === null ? "–" : instant(one.last_ms, zone)),
                },
              ]}
            />
          ) : (
            <Waiting what="the sides" />
          )}
        </section>
      </div>
    </main>
  );
}

/** A disc heard by ear alone, without a capture. */
function ByEar({ ticket }: { ticket: string }) {
  const [problem, set_problem] = useState<string | null>(null);
  const say = async (good: boolean) => {
    try {
      await api.post(`/api/tickets/${encodeURIComponent(ticket)}/hear`, { good });
      tell_changed();
    } catch (error) {
      set_problem(error instanceof Error ? error.message : String(error));
    }
  };
  return (
    <span class="acts">
      <button type="button" class="quiet" onClick={() => void say(true)}>
        Good<span class="unseen">: {ticket}</span>
      </button>
      <button type="button" class="quiet" onClick={() => void say(false)}>
        Bad<span class="unseen">: {ticket}</span>
      </button>
      {problem && (
        <span class="error" role="alert">
          {problem}
        </span>
      )}
    </span>
  );
}
