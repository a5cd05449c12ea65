import type { Holding, OrderStanding, Play, Row, RunStanding } from "../api";
import { StateWord } from "../parts/State";
import { Table } from "../parts/Table";
import { href } from "../router";
import { use_settings } from "../settings";
import { decibel, instant, small_length, text_of } from "../units";
import { heard_words, worst_of } from "./Subject";
import { field_words, Value } from "./fields";

export function Runs({ runs }: { runs: readonly RunStanding[] }) {
  const { zone } = use_settings();
  return (
    <Table
      caption="Runs, newest first"
      hide_caption
      rows={runs}
      row_key={(one) => one.run.code}
      columns={[
        {
          head: "run",
          value: (one) => one.run.code,
          show: (one) => <a href={href("run", one.run.code)}>{one.run.code}</a>,
        },
        { head: "purpose", value: (one) => text_of(one.run.purpose) },
        {
          head: "state",
          value: (one) => worst_of(one.counts, one.heard),
          show: (one) => <StateWord state={worst_of(one.counts, one.heard)} />,
        },
        { head: "impressions", value: (one) => one.impressions, figure: true },
        { head: "suspect", value: (one) => one.counts.suspect, figure: true },
        { head: "scrap", value: (one) => one.counts.scrap, figure: true },
        { head: "heard", value: (one) => one.heard.good + one.heard.bad, show: (one) => heard_words(one.heard) },
        {
          head: "begun",
          value: (one) => Number(one.run.at_ms ?? 0),
          show: (one) => (one.run.at_ms ? instant(Number(one.run.at_ms), zone) : "–"),
        },
      ]}
    />
  );
}

export function Orders({ orders }: { orders: readonly OrderStanding[] }) {
  const { zone } = use_settings();
  return (
    <Table
      caption="Orders, the earliest due first"
      hide_caption
      rows={orders}
      row_key={(one) => one.code}
      columns={[
        { head: "order", value: (one) => one.code, show: (one) => <a href={href("order", one.code)}>{one.code}</a> },
        { head: "title", value: (one) => one.name, show: (one) => <a href={href("title", one.title)}>{one.name}</a> },
        { head: "format", value: (one) => one.format },
        {
          head: "state",
          value: (one) => worst_of(one.counts, one.heard),
          show: (one) =>
            one.late ? <StateWord state="out" words="late" /> : <StateWord state={worst_of(one.counts, one.heard)} />,
        },
        { head: "done", value: (one) => one.done, show: (one) => `${one.done} of ${one.quantity}`, figure: true },
        { head: "suspect", value: (one) => one.counts.suspect, figure: true },
        {
          head: "due",
          value: (one) => one.due_ms,
          show: (one) => (one.due_ms === null ? "–" : instant(one.due_ms, zone).slice(0, 10)),
        },
        { head: "heard", value: (one) => one.heard.good + one.heard.bad, show: (one) => heard_words(one.heard) },
      ]}
    />
  );
}

export function Stock({ stock }: { stock: readonly Holding[] }) {
  return (
    <Table
      caption="Discs by place"
      hide_caption
      rows={stock}
      row_key={(one) => `${one.place} ${one.impressions.join("-")} ${one.at ?? ""} ${one.reason ?? ""}`}
      columns={[
        { head: "place", value: (one) => one.place.replaceAll("_", " ") },
        {
          head: "impressions",
          value: (one) => one.impressions[0],
          show: (one) =>
            one.impressions[0] === one.impressions[1]
              ? one.impressions[0]
              : `${one.impressions[0]}–${one.impressions[1]}`,
          figure: true,
        },
        { head: "discs", value: (one) => one.quantity, figure: true },
        {
          head: "at",
          value: (one) => one.at ?? "",
          show: (one) => (one.at ? <a href={href("thing", one.at)}>{one.at}</a> : ""),
        },
        { head: "why", value: (one) => one.reason ?? "" },
      ]}
    />
  );
}

export function Plays({ plays }: { plays: readonly Play[] }) {
  const { zone, system } = use_settings();
  return (
    <Table
      caption="Heard plays"
      hide_caption
      rows={plays}
      row_key={(one) => one.report}
      most={60}
      columns={[
        {
          head: "report",
          value: (one) => one.report,
          show: (one) => <a href={href("bench", one.report)}>{one.report}</a>,
        },
        {
          head: "verdict",
          value: (one) => (one.pass ? "within limits" : "outside limits"),
          show: (one) => <StateWord state={one.pass ? "good" : "out"} words={one.pass ? "within" : "outside"} />,
        },
        { head: "side", value: (one) => one.letter },
        {
          head: "stamper",
          value: (one) => one.stamper,
          show: (one) => one.stamper && <a href={href("part", one.stamper)}>{one.stamper}</a>,
        },
        {
          head: "impression",
          value: (one) => one.impression[0],
          show: (one) => <a href={href("disc", one.run, one.impression[0])}>{one.impression[0]}</a>,
          figure: true,
        },
        { head: "plain", value: (one) => one.plain, figure: true },
        { head: "slight", value: (one) => one.slight, figure: true },
        {
          head: "offset",
          value: (one) => one.eccentricity_m,
          show: (one) => (one.eccentricity_m === null ? "–" : small_length(one.eccentricity_m, system, 2)),
          figure: true,
        },
        {
          head: "noise",
          value: (one) => one.weighted_noise_dB,
          show: (one) => decibel(one.weighted_noise_dB),
          figure: true,
        },
        { head: "played", value: (one) => `${one.play}, ${one.after}` },
        { head: "heard", value: (one) => one.at_ms, show: (one) => instant(one.at_ms, zone) },
      ]}
    />
  );
}

/** Rows of one kind as a table: every field that any of them has. */
export function Rows({ caption, rows, page }: { caption: string; rows: readonly Row[]; page?: string }) {
  const fields = [...new Set(rows.flatMap((row) => Object.keys(row)))]
    .filter((field) => !["code", "id", "uid"].includes(field))
    .slice(0, 8);
  return (
    <Table
      caption={caption}
      hide_caption
      rows={rows}
      row_key={(row) => row.code}
      columns={[
        {
          head: "code",
          value: (row) => row.code,
          show: (row) => <a href={page ? href(page, row.code) : href("thing", row.code)}>{row.code}</a>,
        },
        ...fields.map((field) => ({
          head: field_words(field),
          value: (row: Row) => (row[field] as string | number | null) ?? null,
          show: (row: Row) => <Value field={field} value={row[field]} />,
          figure: rows.every((row) => typeof row[field] === "number" && !field.endsWith("_ms")),
        })),
      ]}
    />
  );
}
