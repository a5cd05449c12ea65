import type { State } from "../parts/State";
import { type Part, path } from "../api";
import { use_data } from "../live";
import { href } from "../router";
import { use_settings } from "../settings";
import { capital, count, instant, text_of } from "../units";
import { PartCalculations } from "../stations/PartCalculations";
import { Loading, Subject } from "./Subject";
import { field_words, Fields, Value } from "./fields";
import { Rows } from "./tables";
import { PartActs } from "../works/PartActs";

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
      code={code}
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
      <PartActs code={code} pressed={closings > 0 || children.length > 0} />
      <PartCalculations code={code} state={now} />
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
                    · {field_words(text_of(one.name))}{" "}
                    <Value field={text_of(one.name)} value={one.value ?? one.said} />
                  </span>
                ))}
                {step.note ? <span class="quiet"> · {text_of(step.note)}</span> : null}
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
