import type { ComponentChildren } from "preact";
import { useMemo, useState } from "preact/hooks";
import { count } from "../units";

export interface Column<Row> {
  head: string;
  /** What is sorted by and written to CSV: the plain number or text. */
  value: (row: Row) => number | string | null;
  /** What is shown; without it the value. */
  show?: (row: Row) => ComponentChildren;
  figure?: boolean;
}

export interface TableProps<Row> {
  caption: string;
  columns: Column<Row>[];
  rows: readonly Row[];
  row_key: (row: Row) => string | number;
  chosen?: string | number | null;
  on_choose?: (row: Row) => void;
  /** How a row is called on its button: "Fault 3". */
  choose_words?: (row: Row) => string;
  hide_caption?: boolean;
  most?: number;
}

/** RFC 4180. */
export function csv_of<Row>(columns: readonly Column<Row>[], rows: readonly Row[]): string {
  const quoted = (value: number | string | null) => {
    const text = value === null ? "" : String(value);
    return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  };
  return [
    columns.map((column) => quoted(column.head)),
    ...rows.map((row) => columns.map((column) => quoted(column.value(row)))),
  ]
    .map((line) => line.join(","))
    .join("\r\n");
}

export function compare(a: number | string | null, b: number | string | null): number {
  if (a === null || b === null) return a === b ? 0 : a === null ? 1 : -1;
  if (typeof a === "number" && typeof b === "number") return a - b;
  return String(a).localeCompare(String(b), "en-GB", { numeric: true });
}

/** A table that can be sorted by its heads, filtered, and copied as CSV. */
export function Table<Row>(props: TableProps<Row>) {
  const { columns, rows } = props;
  const [by, set_by] = useState<{ column: number; down: boolean } | null>(null);
  const [filter, set_filter] = useState("");
  const [all, set_all] = useState(false);
  const [said, set_said] = useState("");
  const most = props.most ?? 200;
  const shown = useMemo(() => {
    const wanted = filter.trim().toLowerCase();
    const kept =
      wanted === ""
        ? [...rows]
        : rows.filter((row) =>
            columns.some((column) =>
              String(column.value(row) ?? "")
                .toLowerCase()
                .includes(wanted),
            ),
          );
    const column = by === null ? undefined : columns[by.column];
    if (by && column) kept.sort((a, b) => (by.down ? -1 : 1) * compare(column.value(a), column.value(b)));
    return kept;
  }, [rows, columns, filter, by]);
  const copy = async () => {
    try {
      await navigator.clipboard.writeText(csv_of(columns, shown));
      set_said("Copied.");
    } catch {
      set_said("This browser does not let a page copy; save the page's data by the command instead.");
    }
  };
  return (
    <div class="table">
      <div class="table-tools">
        {rows.length > 8 && (
          <label>
            Filter <input type="search" value={filter} onInput={(event) => set_filter(event.currentTarget.value)} />
          </label>
        )}
        <button type="button" class="quiet" onClick={copy}>
          Copy as CSV
        </button>
        <span role="status">{said}</span>
      </div>
      <div class="table-scroll" tabIndex={0} role="group" aria-label={props.caption}>
        <table>
          <caption class={props.hide_caption ? "unseen" : ""}>{props.caption}</caption>
          <thead>
            <tr>
              {columns.map((column, i) => (
                <th
                  key={column.head}
                  scope="col"
                  class={column.figure ? "figure" : ""}
                  aria-sort={by?.column === i ? (by.down ? "descending" : "ascending") : "none"}
                >
                  <button
                    type="button"
                    class="head"
                    onClick={() => set_by({ column: i, down: by?.column === i && !by.down })}
                  >
                    {column.head}
                    {by?.column === i ? (by.down ? " ↓" : " ↑") : ""}
                  </button>
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {shown.slice(0, all ? undefined : most).map((row) => {
              const key = props.row_key(row),
                is_chosen = props.chosen === key;
              return (
                <tr
                  key={key}
                  class={is_chosen ? "chosen" : ""}
                  onClick={props.on_choose && (() => props.on_choose?.(row))}
                  {...(props.on_choose ? { "data-key": key } : {})}
                >
                  {columns.map((column, i) => {
                    const text = column.show ? column.show(row) : (column.value(row) ?? "–");
                    const inside =
                      i === 0 && props.on_choose ? (
                        <button
                          type="button"
                          class="row"
                          aria-pressed={is_chosen}
                          aria-label={props.choose_words?.(row)}
                        >
                          {text}
                        </button>
                      ) : (
                        text
                      );
                    return i === 0 ? (
                      <th key={column.head} scope="row" class={column.figure ? "figure" : ""}>
                        {inside}
                      </th>
                    ) : (
                      <td key={column.head} class={column.figure ? "figure" : ""}>
                        {inside}
                      </td>
                    );
                  })}
                </tr>
              );
            })}
          </tbody>
        </table>
      </div>
      {shown.length === 0 && <p class="quiet">{rows.length === 0 ? "None." : "None that match the filter."}</p>}
      {!all && shown.length > most && (
        <button type="button" class="quiet" onClick={() => set_all(true)}>
          Show all {count(shown.length, "row")}
        </button>
      )}
    </div>
  );
}
