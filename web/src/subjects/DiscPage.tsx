import type { State } from "../parts/State";
import { type Disc, path, type Row } from "../api";
import { use_data } from "../live";
import { href } from "../router";
import { text_of } from "../units";
import { Loading, Subject } from "./Subject";
import { Plays } from "./tables";
import { DiscFlow } from "../works/Flow";

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
      <DiscFlow disc={disc} />
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
