import { type Order, path } from "../api";
import { use_data } from "../live";
import { href } from "../router";
import { use_settings } from "../settings";
import { instant } from "../units";
import { heard_words, Ledger, Loading, Subject, worst_of } from "./Subject";
import { Fields } from "./fields";
import { Rows, Runs } from "./tables";
import { Approve, OrderActs, OrderOwed } from "../works/OrderSheet";

export function OrderPage({ code }: { code: string }) {
  const data = use_data<Order>(path.order(code));
  const { zone } = use_settings();
  if (!data.data) return <Loading data={data} what="the order" />;
  const { standing: now, order, runs, approvals } = data.data;
  return (
    <Subject
      code={code}
      state={now.late ? "out" : worst_of(now.counts, now.heard)}
      what={
        <>
          Order {now.code} of <a href={href("title", now.title)}>{now.name}</a>
          {now.customer && <> for {now.customer}</>}
        </>
      }
      name={`${now.done} of ${now.quantity} done`}
      stands={`${now.due_ms === null ? "no day promised" : `due ${instant(now.due_ms, zone).slice(0, 10)}`}${now.late ? ", late" : ""} · ${heard_words(now.heard)}`}
    >
      <OrderOwed order={data.data} />
      <OrderActs order={data.data} />
      <section aria-label="By place">
        <h2>By place</h2>
        <Ledger counts={now.counts} />
      </section>
      <section aria-label="Runs">
        <h2>Runs</h2>
        <Runs runs={runs} />
      </section>
      <section aria-label="Approvals">
        <h2>Approval</h2>
        {approvals.length === 0 ? (
          <p class="quiet">None yet: no run starts without it.</p>
        ) : (
          <Rows caption="Approvals" rows={approvals} />
        )}
        <Approve order={code} />
      </section>
      <section aria-label="Entry">
        <h2>As entered</h2>
        <Fields row={order} />
      </section>
    </Subject>
  );
}
