import type { LineNow } from "../api";
import { Waiting } from "../parts/Notice";
import { StateWord } from "../parts/State";
import { Orders } from "../subjects/tables";
import { capital, count } from "../units";
import { Families } from "../works/MetalHome";

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
      {station === "metal" && <Families />}
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
