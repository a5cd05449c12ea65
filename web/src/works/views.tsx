import type { Place } from "../router";
import { EnterOrder } from "./EnterOrder";
import { EnterThing } from "./EnterThing";
import { Family } from "./Family";
import { Inspect } from "./Inspect";
import { LedgerView } from "./LedgerView";
import { Pack, PackHome } from "./Pack";
import { Presses } from "./Presses";

/** Where each of these views stands on the line. */
export const works_stations: Record<string, string> = {
  family: "metal",
  press: "press",
  ledger: "store",
  pack: "dispatch",
};

/** The view by hand that an address names; null where it is none of them. */
export function works_view({ path: [what, one], query }: Place) {
  if (what === "enter-order") return <EnterOrder title={query.get("title")} />;
  if (what === "enter") return <EnterThing key={one ?? ""} kind={one ?? null} given={query} />;
  if (what === "station" && one === "store") return <Inspect />;
  if (what === "ledger") return <LedgerView />;
  if (what === "station" && one === "press") return <Presses press={null} />;
  if (what === "station" && one === "dispatch") return <PackHome />;
  if (one === undefined) return null;
  if (what === "pack") return <Pack key={one} order={one} scanned={query.get("scanned")} />;
  if (what === "press") return <Presses key={one} press={one} />;
  if (what === "family") return <Family key={one} title={one} />;
  return null;
}
