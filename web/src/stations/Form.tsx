import type { ComponentChildren } from "preact";
import { useRef, useState } from "preact/hooks";
import { ApiError } from "../api";
import { use_settings } from "../settings";
import { give } from "./ask";
import {
  type Calculated,
  type Field,
  type FileField,
  type GivenFile,
  is_told,
  type PairsField,
  parted,
  type QuantityField,
  type Question,
  type Values,
} from "./describe";

export interface FormProps {
  question: Question;
  values: Values;
  answer: Calculated | null;
  files: readonly GivenFile[];
  /** The field that was refused, and the sentence. */
  refused: { field: string | null; words: string } | null;
  busy: boolean;
  set: (name: string, value: Values[string]) => void;
  on_file: (file: GivenFile) => void;
  calculate: () => void;
}

/** A question's fields: the few that matter first, the rest in groups that open. */
export function Form(props: FormProps) {
  const { question, values, refused } = props;
  const shown = question.fields.filter((field) => !field.when || field.when(values));
  const groups = [...new Set(shown.flatMap((field) => (field.more ? [field.more] : [])))];
  const one = (field: Field) => <FieldOf key={field.name} field={field} {...props} />;
  return (
    <form
      class="calculation-form"
      aria-label={question.words}
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        props.calculate();
      }}
    >
      {shown.filter((field) => !field.more).map(one)}
      <p class="acts">
        <button type="submit" class="main" disabled={props.busy}>
          {question.act}
        </button>
        <span role="status">{props.busy ? "Calculating …" : ""}</span>
      </p>
      {refused && (
        <p class="problem" role="alert">
          {refused.words}
        </p>
      )}
      {groups.length > 0 && <h2 class="more">More</h2>}
      {groups.map((group) => {
        const inside = shown.filter((field) => field.more === group);
        return (
          <details key={group} open={inside.some((field) => field.name === refused?.field) || undefined}>
            <summary>
              {group}
              <Filled fields={inside} values={values} />
            </summary>
            <div class="calculation-group">{inside.map(one)}</div>
          </details>
        );
      })}
    </form>
  );
}

/** How many of a closed group's fields say something of their own. */
function Filled({ fields, values }: { fields: readonly Field[]; values: Values }) {
  const told = fields.filter((field) => is_told(field, values)).length;
  return told > 0 ? <span class="quiet"> · {told} given</span> : null;
}

function FieldOf({ field, ...props }: FormProps & { field: Field }) {
  const id = `field-${field.name}`,
    help_id = `${id}-help`;
  const wrong = props.refused?.field === field.name;
  const told = {
    ...(field.help ? { "aria-describedby": help_id } : {}),
    ...(wrong ? { "aria-invalid": true as const } : {}),
  };
  const help = field.help ? (
    <span id={help_id} class="help">
      {field.help}
    </span>
  ) : null;
  const frame = (inside: ComponentChildren) => (
    <div class={`calculation-field ${wrong ? "wrong" : ""}`}>
      <label for={id}>{field.label}</label>
      {inside}
      {help}
    </div>
  );
  const value = props.values[field.name];
  switch (field.kind) {
    case "yes":
      return (
        <div class="calculation-field">
          <label class="choice">
            <input
              type="checkbox"
              checked={value === true}
              onChange={(event) => props.set(field.name, event.currentTarget.checked)}
              {...told}
            />{" "}
            {field.label}
          </label>
          {help}
        </div>
      );
    case "choice":
      return frame(
        <select
          id={id}
          value={String(value ?? "")}
          onChange={(event) => props.set(field.name, event.currentTarget.value)}
          {...told}
        >
          {field.choices.map(([one, words]) => (
            <option key={one} value={one}>
              {words}
            </option>
          ))}
        </select>,
      );
    case "text":
      return frame(
        <input
          id={id}
          type="text"
          autocomplete="off"
          class={field.wide ? "wide-input" : ""}
          placeholder={field.example}
          value={String(value ?? "")}
          onInput={(event) => props.set(field.name, event.currentTarget.value)}
          {...told}
        />,
      );
    case "quantity":
      return frame(
        <Quantity
          field={field}
          id={id}
          told={told}
          now={(props.answer && field.now?.(props.answer)) ?? ""}
          value={String(value ?? "")}
          set={(next) => props.set(field.name, next)}
        />,
      );
    case "file":
      return (
        <div class={`calculation-field ${wrong ? "wrong" : ""}`}>
          <FileChoice field={field} id={id} value={String(value ?? "")} {...props} />
          {help}
        </div>
      );
    case "pairs":
      return (
        <Pairs
          field={field}
          help={help}
          wrong={wrong}
          value={(value as string[]) ?? []}
          answer={props.answer}
          set={(next) => props.set(field.name, next)}
        />
      );
  }
}

const unit_words: Record<string, string> = {
  um: "µm",
  mil: "thou",
  "A/dm2": "A/dm²",
  "A/ft2": "A/ft²",
  "g/cm3": "g/cm³",
  "kg/m3": "kg/m³",
};

function Quantity(props: {
  field: QuantityField;
  id: string;
  told: object;
  now: string;
  value: string;
  set: (value: string) => void;
}) {
  const { number, unit } = parted(props.value);
  const { units, label } = props.field;
  return (
    <span class="quantity">
      <input
        id={props.id}
        type="text"
        inputMode="decimal"
        autocomplete="off"
        placeholder={unit === units[0] ? props.now : ""}
        value={number}
        onInput={(event) => props.set(`${event.currentTarget.value.replaceAll(" ", "")} ${unit}`)}
        {...props.told}
      />
      {units.length > 1 ? (
        <select
          aria-label={`${label}, unit`}
          value={unit}
          onChange={(event) => props.set(`${number} ${event.currentTarget.value}`)}
        >
          {units.map((one) => (
            <option key={one} value={one}>
              {unit_words[one] ?? one}
            </option>
          ))}
        </select>
      ) : (
        <span class="unit">{unit_words[unit] ?? unit}</span>
      )}
    </span>
  );
}

/** A file of the works, one that was given before, or one that is dropped here. */
function FileChoice(props: FormProps & { field: FileField; id: string; value: string }) {
  const { field } = props;
  const [over, set_over] = useState(false);
  const [said, set_said] = useState("");
  const picker = useRef<HTMLInputElement>(null);
  const fits = props.files.filter(
    (file) =>
      field.endings.some((ending) => file.id.endsWith(`.${ending}`)) &&
      (file.folder === null || file.folder === field.folder),
  );
  const take = async (file: File | undefined) => {
    if (!file) return;
    set_said(`Sending ${file.name} …`);
    try {
      const given = await give(file);
      props.on_file(given);
      props.set(field.name, given.id);
      set_said(`${given.name} is there.`);
    } catch (error) {
      set_said(error instanceof ApiError ? error.message : String(error));
    }
  };
  return (
    <div
      class={`given ${over ? "over" : ""}`}
      onDragOver={(event) => {
        event.preventDefault();
        set_over(true);
      }}
      onDragLeave={() => set_over(false)}
      onDrop={(event) => {
        event.preventDefault();
        set_over(false);
        void take(event.dataTransfer?.files[0]);
      }}
    >
      <label for={props.id}>{field.label}</label>
      <select id={props.id} value={props.value} onChange={(event) => props.set(field.name, event.currentTarget.value)}>
        <option value="">{field.none ?? (fits.length > 0 ? "none" : "none is there yet")}</option>
        {fits.map((file) => (
          <option key={file.id} value={file.id}>
            {file.name}
            {file.folder === null ? " (given)" : ""}
          </option>
        ))}
      </select>
      <p class="help">
        Drop here, or{" "}
        <button type="button" class="quiet" onClick={() => picker.current?.click()}>
          choose a file<span class="unseen"> for {field.label}</span>:
        </button>
        {field.drop_words}.
      </p>
      <input
        ref={picker}
        class="unseen"
        type="file"
        tabIndex={-1}
        aria-label={`${field.label}, a file`}
        accept={field.endings.map((ending) => `.${ending}`).join(",")}
        onChange={(event) => {
          void take(event.currentTarget.files?.[0]);
          event.currentTarget.value = "";
        }}
      />
      <span role="status">{said}</span>
    </div>
  );
}

/** Rows of a name and what it is: readings, what the scale said, what if. */
function Pairs(props: {
  field: PairsField;
  help: ComponentChildren;
  wrong: boolean;
  value: readonly string[];
  answer: Calculated | null;
  set: (value: string[]) => void;
}) {
  const { field, value } = props;
  const { system } = use_settings();
  const units_here = field.right_units?.[system === "inch" ? 1 : 0] ?? "";
  const known = (props.answer && field.known?.(props.answer)) ?? [];
  const rows = value.length > 0 ? value : [];
  const change = (at: number, left: string, right: string) =>
    props.set(rows.map((row, i) => (i === at ? `${left}=${right}` : row)));
  return (
    <fieldset class={`calculation-field pairs ${props.wrong ? "wrong" : ""}`}>
      <legend>{field.label}</legend>
      {known.length > 0 && (
        <datalist id={`known-${field.name}`}>
          {known.map((one) => (
            <option key={one} value={one} />
          ))}
        </datalist>
      )}
      {rows.length > 0 && (
        <div class="pair pair-heads" aria-hidden="true">
          <span>{field.left}</span>
          <span>
            {field.right}
            {field.right_units ? `, ${unit_words[units_here] ?? units_here}` : ""}
          </span>
        </div>
      )}
      {rows.map((row, i) => {
        const sign = row.indexOf("="),
          left = sign < 0 ? row : row.slice(0, sign),
          right = sign < 0 ? "" : row.slice(sign + 1);
        return (
          <div class="pair" key={i}>
            <input
              type="text"
              autocomplete="off"
              aria-label={`${field.label}, ${field.left}, row ${i + 1}`}
              placeholder={field.example[0]}
              value={left}
              {...(known.length > 0 ? { list: `known-${field.name}` } : {})}
              onInput={(event) => change(i, event.currentTarget.value.replaceAll("=", ""), right)}
            />
            <input
              type="text"
              autocomplete="off"
              aria-label={`${field.label}, ${field.right}, row ${i + 1}`}
              placeholder={field.example[1]}
              value={right}
              onInput={(event) => change(i, left, event.currentTarget.value)}
            />
            <button type="button" class="quiet" onClick={() => props.set(rows.filter((_, k) => k !== i))}>
              Take out
              <span class="unseen">
                {" "}
                row {i + 1} of {field.label}
              </span>
            </button>
          </div>
        );
      })}
      <button type="button" onClick={() => props.set([...rows, "="])}>
        {rows.length === 0 ? (field.add ?? "Add a row") : "One more row"}
        <span class="unseen"> of {field.label}</span>
      </button>
      {props.help}
    </fieldset>
  );
}
