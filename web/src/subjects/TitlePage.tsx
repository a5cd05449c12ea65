import { path, type Title } from "../api";
import { use_data } from "../live";
import { type State, StateWord } from "../parts/State";
import { href } from "../router";
import { count, text_of } from "../units";
import { Loading, Subject } from "./Subject";
import { Fields } from "./fields";
import { Orders, Runs } from "./tables";

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
      code={code}
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
      <p class="acts">
        <a class="touch" href={href("family", code)}>
          Family of its metal
        </a>
        <a class="touch" href={`/enter-order?title=${encodeURIComponent(code)}`}>
          Enter an order of it
        </a>
      </p>
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
