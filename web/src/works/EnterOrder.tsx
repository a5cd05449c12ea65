import { useState } from "preact/hooks";
import { use_data } from "../live";
import { go, href } from "../router";
import { may, use_settings } from "../settings";
import { Field, Told, use_act } from "./act";
import { asked, type Entered, written } from "./api";

const formats = ["7in-33", "7in-45", "7in-78", "10in-33", "10in-45", "10in-78", "12in-33", "12in-45", "12in-78"];

interface Place {
  to: string;
  quantity: string;
  due: string;
}

/** An order as it came in: what, how many, by when, where to. A title that was never pressed here is entered with it. */
export function EnterOrder({ title: given }: { title: string | null }) {
  const titles = use_data<{ titles: { code: string; name: string; artist: string | null }[] }>(asked.titles);
  const { session } = use_settings();
  const act = use_act();
  const [title, set_title] = useState(given ?? "");
  const [name, set_name] = useState(""),
    [artist, set_artist] = useState(""),
    [catalogue, set_catalogue] = useState(""),
    [sides, set_sides] = useState(2);
  const [format, set_format] = useState("12in-33"),
    [material, set_material] = useState("vinyl"),
    [quantity, set_quantity] = useState(""),
    [most, set_most] = useState(""),
    [due, set_due] = useState(""),
    [customer, set_customer] = useState(""),
    [reference, set_reference] = useState("");
  const [places, set_places] = useState<Place[]>([]);
  const letters = ["A", "B", "C", "D", "E", "F"].slice(0, sides);
  const place = (at: number, change: Partial<Place>) =>
    set_places(places.map((one, i) => (i === at ? { ...one, ...change } : one)));
  const enter = async (event: SubmitEvent) => {
    event.preventDefault();
    const made = await act.send<Entered & { title: string }>(
      written.order,
      {
        ...(title
          ? { title }
          : { new_title: { name, artist, catalogue }, sides: letters.map((letter) => ({ letter, format })) }),
        order: { quantity, most, format, material, due, customer, customer_reference: reference },
        deliveries: places.map((one) => ({ to: one.to, quantity: one.quantity, due: one.due })),
      },
      (entered) => `Order ${entered.code} is entered.`,
    );
    if (made?.code) go(href("order", made.code));
  };
  const text = (label: string, value: string, set: (value: string) => void, more: object = {}) => (
    <Field label={label}>
      <input value={value} autocomplete="off" onInput={(event) => set(event.currentTarget.value)} {...more} />
    </Field>
  );
  return (
    <main id="main" tabIndex={-1} class="desk by-hand">
      <header class="subject">
        <p class="what">Orders</p>
        <h1>Enter an order</h1>
        <p class="counts">What is to be pressed, how many, by when, and where it goes.</p>
      </header>
      {!may(session, "clerk", "engineer") && (
        <p class="problem">Orders are entered by a clerk or an engineer; you may look.</p>
      )}
      <form class="sheet-form" onSubmit={(event) => void enter(event)}>
        <fieldset>
          <legend>Title</legend>
          <Field label="Title in the record">
            <select value={title} onChange={(event) => set_title(event.currentTarget.value)}>
              <option value="">A new title</option>
              {(titles.data?.titles ?? []).map((one) => (
                <option key={one.code} value={one.code}>
                  {one.name}
                  {one.artist ? ` · ${one.artist}` : ""} ({one.code})
                </option>
              ))}
            </select>
          </Field>
          {title === "" && (
            <>
              {text("Name", name, set_name, { required: true })}
              {text("Artist", artist, set_artist)}
              {text("Catalogue number", catalogue, set_catalogue)}
              <Field label="Sides">
                <select value={sides} onChange={(event) => set_sides(Number(event.currentTarget.value))}>
                  {[1, 2, 4, 6].map((n) => (
                    <option key={n} value={n}>
                      {n}
                    </option>
                  ))}
                </select>
              </Field>
            </>
          )}
        </fieldset>
        <fieldset>
          <legend>Order</legend>
          <Field label="Format">
            <select value={format} onChange={(event) => set_format(event.currentTarget.value)}>
              {formats.map((one) => (
                <option key={one}>{one}</option>
              ))}
            </select>
          </Field>
          <Field label="Material">
            <select value={material} onChange={(event) => set_material(event.currentTarget.value)}>
              <option>vinyl</option>
              <option>shellac-type</option>
            </select>
          </Field>
          {text("Discs ordered", quantity, set_quantity, { required: true, inputMode: "numeric" })}
          {text("Most discs that the customer takes", most, set_most, { inputMode: "numeric" })}
          {text("Due", due, set_due, { placeholder: "2026-12-18" })}
          {text("Customer", customer, set_customer)}
          {text("Customer's own number", reference, set_reference)}
        </fieldset>
        <fieldset>
          <legend>Places it goes to</legend>
          {places.length === 0 && <p class="quiet">All to the customer. Add places where it goes to several.</p>}
          {places.map((one, i) => (
            <div key={i} class="place-row">
              {text(`Place ${i + 1}`, one.to, (to) => place(i, { to }), { required: true })}
              {text(`Discs for place ${i + 1}`, one.quantity, (n) => place(i, { quantity: n }), {
                required: true,
                inputMode: "numeric",
              })}
              {text(`Due at place ${i + 1}`, one.due, (day) => place(i, { due: day }), {
                placeholder: "2026-12-18",
              })}
              <button type="button" onClick={() => set_places(places.filter((_, k) => k !== i))}>
                Leave out place {i + 1}
              </button>
            </div>
          ))}
          <button type="button" onClick={() => set_places([...places, { to: "", quantity: "", due: "" }])}>
            Add a place
          </button>
        </fieldset>
        <Told act={act} />
        <button type="submit" class="main" disabled={act.busy || !may(session, "clerk", "engineer")}>
          Enter the order
        </button>
      </form>
    </main>
  );
}
