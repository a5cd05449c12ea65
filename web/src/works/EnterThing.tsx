import { useState } from "preact/hooks";
import { type Hit, path } from "../api";
import { use_data } from "../live";
import { Problem, Waiting } from "../parts/Notice";
import { home_of } from "../line/Line";
import { field_words } from "../subjects/fields";
import { capital } from "../units";
import { Field, Told, use_act } from "./act";
import { asked, type Kind, type KindField, written } from "./api";

/** Any noun of the record by its own fields: what has no view of its own is entered here. */
export function EnterThing({ kind: name, given }: { kind: string | null; given: URLSearchParams }) {
  const { data, error, again } = use_data<{ kinds: Kind[] }>(asked.kinds);
  if (!data)
    return (
      <main id="main" tabIndex={-1} class="desk">
        {error ? <Problem error={error} again={again} /> : <Waiting what="what the record keeps" />}
      </main>
    );
  const kind = data.kinds.find((one) => one.kind === name);
  return (
    <main id="main" tabIndex={-1} class="desk by-hand">
      <header class="subject">
        <p class="what">
          <a href="/enter">Enter</a>
        </p>
        <h1>{kind ? `Enter a ${kind.kind}` : "What is to be entered"}</h1>
        {kind && <p class="counts">{kind.help}</p>}
      </header>
      {kind ? (
        <Form key={kind.kind} kind={kind} given={given} />
      ) : (
        <ul class="doors">
          {data.kinds.map((one) => (
            <li key={one.kind}>
              <a class="touch" href={one.kind === "order" ? "/enter-order" : `/enter/${encodeURIComponent(one.kind)}`}>
                {capital(one.kind)}
              </a>{" "}
              <span class="quiet">{one.help}</span>
            </li>
          ))}
        </ul>
      )}
    </main>
  );
}

/** A code that is known by a name, too: what the search finds of that kind is offered. */
function CodeField({ field, value, set }: { field: KindField; value: string; set: (code: string) => void }) {
  const kind = field.refers_to === "orders" ? "order" : field.refers_to;
  const { data } = use_data<{ hits: Hit[] }>(value.trim().length >= 2 ? path.search(value.trim()) : null);
  const hits = (data?.hits ?? []).filter((one) => one.kind === kind);
  return (
    <>
      <input
        value={value}
        required={field.required}
        autocomplete="off"
        maxLength={80}
        list={`${field.name}-codes`}
        onInput={(event) => set(event.currentTarget.value)}
      />
      <datalist id={`${field.name}-codes`}>
        {hits.map((one) => (
          <option key={one.code} value={one.code}>
            {one.label} {one.detail}
          </option>
        ))}
      </datalist>
    </>
  );
}

function hint(field: KindField): string {
  const said = field.help;
  const what =
    field.type === "code"
      ? `code of a ${field.refers_to === "orders" ? "order" : field.refers_to}`
      : field.type === "quantity"
        ? "with its unit"
        : "";
  return [what, said].filter(Boolean).join("; ");
}

function Form({ kind, given }: { kind: Kind; given: URLSearchParams }) {
  const act = use_act();
  const [values, set_values] = useState<Record<string, string>>(() =>
    Object.fromEntries(kind.fields.map((one) => [one.name, given.get(one.name) ?? ""])),
  );
  const [made, set_made] = useState<string | null>(null);
  const set = (name: string, value: string) => set_values({ ...values, [name]: value });
  const enter = async (event: SubmitEvent) => {
    event.preventDefault();
    const entered = await act.send(
      written.thing,
      { kind: kind.kind, fields: values },
      ({ code }) => `${capital(kind.kind)} ${code} is entered.`,
    );
    if (!entered) return;
    set_made(entered.code);
    set_values(Object.fromEntries(kind.fields.map((one) => [one.name, given.get(one.name) ?? ""])));
  };
  return (
    <form class="sheet-form" onSubmit={(event) => void enter(event)}>
      {!kind.may && <p class="problem">Your account does not enter a {kind.kind}; you may look.</p>}
      {kind.fields.map((field) => (
        <Field key={field.name} label={`${capital(field_words(field.name))}${field.required ? "" : " (may be left out)"}`}>
          {field.type === "choice" || field.type === "flag" ? (
            <select
              value={values[field.name]}
              required={field.required}
              onChange={(event) => set(field.name, event.currentTarget.value)}
            >
              <option value="">not told</option>
              {(field.type === "flag" ? ["yes", "no"] : field.choices).map((one) => (
                <option key={one}>{one}</option>
              ))}
            </select>
          ) : field.type === "code" ? (
            <CodeField field={field} value={values[field.name] ?? ""} set={(code) => set(field.name, code)} />
          ) : (
            <input
              value={values[field.name]}
              required={field.required}
              autocomplete="off"
              placeholder={field.type === "instant" ? "2026-12-18" : undefined}
              inputMode={field.type === "whole" ? "numeric" : undefined}
              onInput={(event) => set(field.name, event.currentTarget.value)}
            />
          )}
          {hint(field) && <span class="quiet">{hint(field)}</span>}
        </Field>
      ))}
      <button type="submit" class="main touch" disabled={act.busy || !kind.may}>
        Enter the {kind.kind}
      </button>
      <Told act={act} />
      {made && (
        <p>
          <a class="touch" href={home_of({ kind: kind.kind, code: made, label: "", detail: "" })}>
            Open {kind.kind} {made}
          </a>
        </p>
      )}
    </form>
  );
}
