import type { Row } from "../api";
import { href } from "../router";
import { text_of } from "../units";
import { Paper } from "./act";
import { asked } from "./api";

/** What may be printed of a thing, and where it is worked with. */
export function ThingActs({ kind, row }: { kind: string; row: Row }) {
  const order = text_of(row.order);
  const label = ["carton", "pallet", "shipment", "ticket"].includes(kind);
  return (
    <p class="acts">
      {label && (
        <Paper href={asked.label(row.code)} svg={asked.label(row.code, "svg")}>
          {kind === "ticket" ? "Print the ticket" : "Print the label"}
        </Paper>
      )}
      {kind === "shipment" && (
        <>
          <Paper href={asked.paper("packing-list", row.code)}>Packing list</Paper>
          <Paper href={asked.paper("consignment-note", row.code)}>Consignment note</Paper>
        </>
      )}
      {kind === "batch" && <Paper href={asked.paper("weigh-up", row.code)}>Weigh-up sheet</Paper>}
      {["carton", "pallet", "shipment"].includes(kind) && order && (
        <a class="touch" href={`${href("pack", order)}?scanned=${encodeURIComponent(row.code)}`}>
          To the packing bench
        </a>
      )}
      {kind === "press" && (
        <a class="touch" href={href("press", row.code)}>
          To the press
        </a>
      )}
      {kind === "spindle" && (
        <a class="touch" href="/station/store">
          To the inspection table
        </a>
      )}
    </p>
  );
}
