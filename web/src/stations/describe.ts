// A station's calculation as the page asks it: fields, and how its answer is shown. The figures are the command's own.
import type { ComponentType } from "preact";
import type { UnitSystem } from "../units";

export interface Calculated {
  name: string;
  within: boolean;
  headline: string;
  cautions: string[];
  next: string | null;
  words: string;
  // biome-ignore lint/suspicious/noExplicitAny: each command's contract has its own shape
  result: any;
  pictures: { name: string; title: string; svg: string }[];
  entry: number | null;
}

export interface GivenFile {
  id: string;
  name: string;
  folder: string | null;
  bytes: number;
  at_ms: number | null;
}

/** What stands in the form, by the field's name: "250 um", true, a file's id, rows as "left=right". */
export type Values = Record<string, string | boolean | string[]>;

interface FieldBase {
  name: string;
  label: string;
  help?: string;
  /** Under "More", in the group of this name. */
  more?: string;
  when?: (values: Values) => boolean;
  /** The field is one figure of this option, given as NAME=VALUE. */
  figure_of?: string;
}
export interface QuantityField extends FieldBase {
  kind: "quantity";
  units: readonly string[];
  start?: string;
  /** What it begins with where lengths are shown in inches. */
  start_inch?: string;
  /** What counts where nothing is given, in the first of the units. */
  now?: (answer: Calculated) => string;
}
export interface TextField extends FieldBase {
  kind: "text";
  start?: string;
  example?: string;
  wide?: boolean;
}
export interface ChoiceField extends FieldBase {
  kind: "choice";
  choices: readonly (readonly [value: string, words: string])[];
  start?: string;
}
export interface YesField extends FieldBase {
  kind: "yes";
  start?: boolean;
}
export interface FileField extends FieldBase {
  kind: "file";
  /** Endings without a dot. */
  endings: readonly string[];
  /** The works' own folder whose files are offered first. */
  folder?: string;
  /** What it means that no file is given; without it the first of the folder is taken. */
  none?: string;
  drop_words: string;
}
export interface PairsField extends FieldBase {
  kind: "pairs";
  left: string;
  right: string;
  example: readonly [string, string];
  start?: readonly string[];
  /** On the button that adds a row. */
  add?: string;
  /** Of a bare number on the right: metric, inch. */
  right_units?: readonly [string, string];
  /** Names that the last answer knows. */
  known?: (answer: Calculated) => string[];
}
export type Field = QuantityField | TextField | ChoiceField | YesField | FileField | PairsField;

export type Cell = string | number | null;
export interface ShownTable {
  caption: string;
  heads: readonly { head: string; figure?: boolean }[];
  rows: readonly (readonly Cell[])[];
}
export interface Shown {
  figures: readonly (readonly [name: string, text: string])[];
  tables?: readonly ShownTable[];
  remarks?: readonly string[];
  /** Of each picture, by its name. */
  numbers?: Readonly<Record<string, ShownTable>>;
}

export interface AfterProps {
  answer: Calculated;
  values: Values;
  set: (name: string, value: Values[string]) => void;
  calculate: () => void;
}

/** One question of a view: one command. */
export interface Question {
  /** In the server's path. */
  calculation: string;
  /** On the choice of questions; a view of one question needs none. */
  words: string;
  fields: readonly Field[];
  act: string;
  show: (answer: Calculated, system: UnitSystem) => Shown;
  /** Asked at once when the view is opened: what it begins with is an answer already. */
  at_once?: boolean;
  log?: {
    /** What it is entered to, and the field that names it where the form has one. */
    to: string;
    field?: string;
    optional?: boolean;
    act: string;
    help: string;
  };
  /** What the command says to do next names itself and its options; here the page's own words for them. */
  next_words?: readonly (readonly [said: RegExp, words: string])[];
  /** What is done with the answer on the spot. */
  After?: ComponentType<AfterProps>;
}

export interface View {
  title: string;
  what: string;
  questions: readonly Question[];
}

/** The number and the unit of a quantity as it stands in the form. */
export function parted(value: string): { number: string; unit: string } {
  const at = value.indexOf(" ");
  return at < 0 ? { number: value, unit: "" } : { number: value.slice(0, at), unit: value.slice(at + 1) };
}

export function begin(question: Question, system: UnitSystem, given: Readonly<Record<string, string>> = {}): Values {
  const values: Values = {};
  for (const field of question.fields) {
    const told = given[field.name];
    if (field.kind === "quantity")
      values[field.name] =
        told ?? ((system === "inch" && field.start_inch) || field.start || ` ${field.units[0] ?? ""}`);
    else if (field.kind === "yes") values[field.name] = told !== undefined ? told === "yes" : (field.start ?? false);
    else if (field.kind === "pairs") values[field.name] = [...(field.start ?? [])];
    else if (field.kind === "file") values[field.name] = told ?? "";
    else values[field.name] = told ?? field.start ?? "";
  }
  return values;
}

/** What is sent: filled fields that are shown, decimal commas as points. */
export function options_of(
  question: Question,
  values: Values,
  system: UnitSystem = "metric",
): Record<string, string | boolean | string[]> {
  const options: Record<string, string | boolean | string[]> = {};
  for (const field of question.fields) {
    if (field.when && !field.when(values)) continue;
    const value = values[field.name];
    let text = "";
    if (field.kind === "yes") {
      if (value === true) options[field.name] = true;
      continue;
    }
    if (field.kind === "pairs") {
      const rows = ((value as string[] | undefined) ?? [])
        .map((row) => row.trim())
        .filter((row) => row !== "" && row !== "=" && !row.startsWith("=") && !row.endsWith("="))
        .map((row) => with_unit(row, field.right_units?.[system === "inch" ? 1 : 0]));
      if (rows.length > 0) options[field.name] = [...((options[field.name] as string[]) ?? []), ...rows];
      continue;
    }
    if (field.kind === "quantity") {
      const { number, unit } = parted(String(value ?? ""));
      if (number.trim() === "") continue;
      text = `${number.trim().replace(",", ".").replace("−", "-")}${unit === "" ? "" : ` ${unit}`}`;
    } else text = String(value ?? "").trim();
    if (text === "") continue;
    if (field.figure_of)
      options[field.figure_of] = [...((options[field.figure_of] as string[]) ?? []), `${field.name}=${text}`];
    else options[field.name] = text;
  }
  return options;
}

/** A row whose right is a bare number gets the unit. */
function with_unit(row: string, unit: string | undefined): string {
  if (!unit || !/=\s*[-−+]?[\d.,]+\s*$/.test(row)) return row;
  return `${row.replace("−", "-").replace(",", ".").trim()} ${unit}`;
}

/** An answer of a kind that its description does not know is still told, in the command's words. */
export function shown_of(question: Question, answer: Calculated, system: UnitSystem): Shown & { strange?: true } {
  try {
    return question.show(answer, system);
  } catch {
    return { figures: [], strange: true };
  }
}

/** What to do next, in the page's words: options by their fields' labels. */
export function next_of(question: Question, answer: Calculated): string {
  let text = answer.next ?? "";
  for (const [said, words] of question.next_words ?? []) text = text.replace(said, words);
  return text
    .replaceAll(/--([a-z][a-z0-9-]*)(?: [A-Z][A-Za-z.]*)?/g, (all, name: string) => {
      const field = question.fields.find((one) => one.name === name);
      return field ? `“${field.label}”` : all;
    })
    .replaceAll("`", "");
}

/** Whether a field says something other than what it began with. */
export function is_told(field: Field, values: Values): boolean {
  const value = values[field.name];
  if (field.kind === "pairs") return ((value as string[] | undefined) ?? []).join() !== (field.start ?? []).join();
  if (field.kind === "quantity")
    return parted(String(value ?? "")).number !== "" && value !== field.start && value !== field.start_inch;
  if (field.kind === "yes") return value === true;
  return String(value ?? "") !== (("start" in field && field.start) || "");
}

/** The field that a refusal speaks of ("--target: …"), and the sentence in the page's own words. */
export function refusal_of(question: Question, message: string): { field: string | null; words: string } {
  const named = /--([a-z][a-z0-9-]*)/i.exec(message)?.[1];
  const field = question.fields.find((one) => one.name === named);
  if (!field) return { field: null, words: message };
  return {
    field: field.name,
    words: message.replaceAll(/--([a-z][a-z0-9-]*)/gi, (all, name: string) => {
      const other = question.fields.find((one) => one.name === name);
      return other ? `“${other.label}”` : all;
    }),
  };
}
