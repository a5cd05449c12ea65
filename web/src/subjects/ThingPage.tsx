import { path, type Thing } from "../api";
import { use_data } from "../live";
import { capital, count, text_of } from "../units";
import { Loading, Subject } from "./Subject";
import { field_words, Fields, link_to } from "./fields";
import { Rows } from "./tables";
import { ThingActs } from "../works/ThingActs";

export function ThingPage({ code }: { code: string }) {
  const data = use_data<Thing>(path.thing(code));
  if (!data.data) return <Loading data={data} what="the entry" />;
  const { kind, row, named_by } = data.data;
  const to = link_to(kind, code);
  return (
    <Subject code={code} state="unknown" what={capital(kind)} name={code} stands={text_of(row.name ?? row.state ?? row.what)}>
      <ThingActs kind={kind} row={row} />
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
