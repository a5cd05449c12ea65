#include "ledger/migrations.hpp"

#include <fmt/format.h>

#include <array>

namespace goodside::ledger {
namespace {

constexpr std::string_view entries_and_settings = R"(
CREATE TABLE event (
  seq INTEGER PRIMARY KEY NOT NULL,
  at_ms INTEGER NOT NULL,
  who TEXT NOT NULL,
  what TEXT NOT NULL,
  subject TEXT NOT NULL,
  reverses INTEGER REFERENCES event (seq),
  body TEXT NOT NULL,
  previous TEXT NOT NULL,
  hash TEXT NOT NULL UNIQUE
) STRICT;
CREATE INDEX event_at ON event (at_ms);
CREATE INDEX event_subject ON event (subject, seq);
CREATE TABLE setting (name TEXT PRIMARY KEY NOT NULL, value TEXT, event INTEGER NOT NULL) STRICT;
CREATE TABLE counter (kind TEXT PRIMARY KEY NOT NULL, last INTEGER NOT NULL, event INTEGER NOT NULL) STRICT;
)";

constexpr std::string_view nouns = R"(
CREATE TABLE title (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "name" TEXT NOT NULL,
  "artist" TEXT,
  "catalogue" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE side (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "title" TEXT NOT NULL REFERENCES title (code),
  "letter" TEXT NOT NULL,
  "format" TEXT,
  "speed_rpm" REAL,
  "matrix" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE cut (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "side" TEXT NOT NULL REFERENCES side (code),
  "reference" TEXT,
  "reference_sha256" TEXT,
  "speed_rpm" REAL,
  "outer_radius_m" REAL,
  "inner_radius_m" REAL,
  "pitch_m" REAL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE orders (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "title" TEXT NOT NULL REFERENCES title (code),
  "quantity" INTEGER NOT NULL,
  "format" TEXT,
  "material" TEXT,
  "due_ms" INTEGER,
  "customer" TEXT,
  "customer_reference" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE part (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "kind" TEXT NOT NULL,
  "side" TEXT REFERENCES side (code),
  "cut" TEXT REFERENCES cut (code),
  "parent" TEXT REFERENCES part (code),
  "grown" INTEGER,
  "origin" TEXT,
  "supplier" TEXT,
  "presses" INTEGER,
  "state" TEXT,
  "face" INTEGER,
  "faced" INTEGER,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE press (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "name" TEXT NOT NULL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE spindle (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "name" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE recipe (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "name" TEXT NOT NULL,
  "steam_pressure_Pa" REAL,
  "mould_temperature_K" REAL,
  "steam_time_s" REAL,
  "cooling_time_s" REAL,
  "cycle_time_s" REAL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE batch (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "recipe" TEXT,
  "material" TEXT NOT NULL,
  "colour" TEXT,
  "mass_kg" REAL,
  "supplier" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE weighing (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "batch" TEXT NOT NULL REFERENCES batch (code),
  "ingredient" TEXT NOT NULL,
  "lot" TEXT,
  "asked_kg" REAL,
  "weighed_kg" REAL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE biscuit (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "batch" TEXT NOT NULL REFERENCES batch (code),
  "quantity" INTEGER,
  "mass_kg" REAL,
  "diameter_m" REAL,
  "thickness_m" REAL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE mounting (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "press" TEXT NOT NULL REFERENCES press (code),
  "stamper_a" TEXT REFERENCES part (code),
  "stamper_b" TEXT REFERENCES part (code),
  "counter_from" INTEGER NOT NULL,
  "counter_to" INTEGER,
  "reason" TEXT,
  "begun_ms" INTEGER,
  "ended_ms" INTEGER,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE step (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "part" TEXT NOT NULL REFERENCES part (code),
  "what" TEXT NOT NULL,
  "face" INTEGER,
  "state_after" TEXT,
  "mounting" TEXT REFERENCES mounting (code),
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE reading (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "step" TEXT NOT NULL REFERENCES step (code),
  "name" TEXT NOT NULL,
  "value" REAL,
  "said" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE run (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "order" TEXT NOT NULL REFERENCES orders (code),
  "press" TEXT REFERENCES press (code),
  "purpose" TEXT,
  "recipe" TEXT REFERENCES recipe (code),
  "title" TEXT NOT NULL REFERENCES title (code),
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE pressing (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "run" TEXT NOT NULL REFERENCES run (code),
  "mounting" TEXT REFERENCES mounting (code),
  "batch" TEXT REFERENCES batch (code),
  "recipe" TEXT REFERENCES recipe (code),
  "first" INTEGER NOT NULL,
  "last" INTEGER NOT NULL,
  "title_first" INTEGER,
  "purpose" TEXT,
  "counter_from" INTEGER,
  "counter_to" INTEGER,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE shipment (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "order" TEXT NOT NULL REFERENCES orders (code),
  "to" TEXT NOT NULL,
  "carrier" TEXT,
  "state" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE pallet (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "shipment" TEXT REFERENCES shipment (code),
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE carton (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "order" TEXT NOT NULL REFERENCES orders (code),
  "pallet" TEXT REFERENCES pallet (code),
  "shipment" TEXT REFERENCES shipment (code),
  "capacity" INTEGER NOT NULL,
  "state" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE ticket (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "run" TEXT NOT NULL REFERENCES run (code),
  "first" INTEGER NOT NULL,
  "last" INTEGER NOT NULL,
  "mounting" TEXT REFERENCES mounting (code),
  "counter" INTEGER,
  "spindle" TEXT REFERENCES spindle (code),
  "reason" TEXT,
  "heard" TEXT,
  "held_first" INTEGER,
  "held_last" INTEGER,
  "name" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE capture (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "ticket" TEXT NOT NULL REFERENCES ticket (code),
  "letter" TEXT NOT NULL,
  "path" TEXT NOT NULL,
  "sha256" TEXT,
  "play" INTEGER,
  "after" TEXT,
  "bench" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE report (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "capture" TEXT NOT NULL REFERENCES capture (code),
  "path" TEXT NOT NULL,
  "sha256" TEXT NOT NULL,
  "pass" INTEGER,
  "limits" TEXT,
  "version" TEXT,
  "plain" INTEGER,
  "slight" INTEGER,
  "eccentricity_m" REAL,
  "weighted_noise_dB" REAL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE fault (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "report" TEXT NOT NULL REFERENCES report (code),
  "what" TEXT NOT NULL,
  "audibility" TEXT,
  "programme_s" REAL,
  "angle_deg" REAL,
  "radius_m" REAL,
  "excess_dB" REAL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE approval (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "order" TEXT NOT NULL REFERENCES orders (code),
  "run" TEXT REFERENCES run (code),
  "ticket" TEXT REFERENCES ticket (code),
  "report" TEXT REFERENCES report (code),
  "decision" TEXT NOT NULL,
  "words" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE inspection (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "run" TEXT NOT NULL REFERENCES run (code),
  "first" INTEGER,
  "last" INTEGER,
  "spindle" TEXT REFERENCES spindle (code),
  "carton" TEXT REFERENCES carton (code),
  "looked" INTEGER NOT NULL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE tally (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "inspection" TEXT NOT NULL REFERENCES inspection (code),
  "reason" TEXT NOT NULL,
  "quantity" INTEGER NOT NULL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE complaint (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "order" TEXT REFERENCES orders (code),
  "run" TEXT REFERENCES run (code),
  "ticket" TEXT REFERENCES ticket (code),
  "carton" TEXT REFERENCES carton (code),
  "customer" TEXT,
  "nature" TEXT,
  "words" TEXT NOT NULL,
  "letter" TEXT,
  "quantity" INTEGER,
  "programme_s" REAL,
  "within_s" REAL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE remark (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "ticket" TEXT REFERENCES ticket (code),
  "run" TEXT REFERENCES run (code),
  "carton" TEXT REFERENCES carton (code),
  "letter" TEXT,
  "words" TEXT NOT NULL,
  "programme_s" REAL,
  "within_s" REAL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
)";

constexpr std::string_view disc_ledger = R"(
CREATE TABLE movement (
  id INTEGER PRIMARY KEY NOT NULL,
  run TEXT NOT NULL REFERENCES run (code),
  "first" INTEGER NOT NULL, "last" INTEGER NOT NULL,
  quantity INTEGER NOT NULL CHECK (quantity > 0),
  from_place TEXT NOT NULL, from_at TEXT, from_reason TEXT, from_from TEXT,
  to_place TEXT NOT NULL, to_at TEXT, to_reason TEXT, to_from TEXT,
  at_ms INTEGER NOT NULL,
  reverses INTEGER REFERENCES movement (id),
  event INTEGER NOT NULL
) STRICT;
CREATE TABLE holding (
  run TEXT NOT NULL REFERENCES run (code),
  "first" INTEGER NOT NULL, "last" INTEGER NOT NULL,
  place TEXT NOT NULL, at TEXT NOT NULL, reason TEXT NOT NULL, came_from TEXT NOT NULL,
  quantity INTEGER NOT NULL,
  PRIMARY KEY (run, "first", "last", place, at, reason, came_from)
) STRICT;
)";

constexpr std::string_view ways_in = R"(
CREATE INDEX movement_run ON movement (run, id);
CREATE INDEX movement_event ON movement (event);
CREATE INDEX holding_at ON holding (at);
CREATE INDEX part_parent ON part (parent);
CREATE INDEX part_side ON part (side);
CREATE INDEX step_part ON step (part);
CREATE INDEX reading_step ON reading (step);
CREATE INDEX weighing_batch ON weighing (batch);
CREATE INDEX mounting_a ON mounting (stamper_a);
CREATE INDEX mounting_b ON mounting (stamper_b);
CREATE INDEX mounting_press ON mounting (press, ended_ms);
CREATE INDEX run_orders ON run ("order");
CREATE INDEX run_title ON run (title);
CREATE INDEX pressing_run ON pressing (run, "first");
CREATE INDEX pressing_mounting ON pressing (mounting);
CREATE INDEX pressing_batch ON pressing (batch);
CREATE INDEX ticket_run ON ticket (run, "first");
CREATE INDEX ticket_name ON ticket (name);
CREATE INDEX capture_ticket ON capture (ticket);
CREATE INDEX report_capture ON report (capture);
CREATE INDEX fault_report ON fault (report);
CREATE INDEX approval_orders ON approval ("order");
CREATE INDEX carton_shipment ON carton (shipment);
CREATE INDEX carton_orders ON carton ("order");
)";

/// Listeners' opinions, and ways in that tracing and the pages go.
constexpr std::string_view opinions = R"(
CREATE TABLE opinion (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "report" TEXT NOT NULL REFERENCES report (code),
  "fault" INTEGER,
  "opinion" TEXT NOT NULL,
  "programme_s" REAL,
  "capture_s" REAL,
  "what" TEXT,
  "words" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE INDEX opinion_report ON opinion (report);
CREATE INDEX side_title ON side (title);
CREATE INDEX cut_side ON cut (side);
CREATE INDEX orders_title ON orders (title);
CREATE INDEX remark_ticket ON remark (ticket);
CREATE INDEX remark_carton ON remark (carton);
CREATE INDEX complaint_ticket ON complaint (ticket);
CREATE INDEX complaint_carton ON complaint (carton);
)";

/// What packing and shipping keep.
constexpr std::string_view packing = R"(
ALTER TABLE title ADD COLUMN "gtin" TEXT;
ALTER TABLE orders ADD COLUMN "most" INTEGER;
CREATE TABLE track (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "side" TEXT NOT NULL REFERENCES side (code),
  "number" INTEGER NOT NULL,
  "name" TEXT NOT NULL,
  "isrc" TEXT,
  "programme_s" REAL,
  "duration_s" REAL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE delivery (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "order" TEXT NOT NULL REFERENCES orders (code),
  "to" TEXT NOT NULL,
  "quantity" INTEGER NOT NULL,
  "due_ms" INTEGER,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
ALTER TABLE shipment ADD COLUMN "delivery" TEXT REFERENCES delivery (code);
ALTER TABLE pallet ADD COLUMN "order" TEXT REFERENCES orders (code);
ALTER TABLE pallet ADD COLUMN "state" TEXT;
ALTER TABLE carton ADD COLUMN "gross_kg" REAL;
CREATE TABLE label (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "carton" TEXT REFERENCES carton (code),
  "pallet" TEXT REFERENCES pallet (code),
  "sscc" TEXT,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE TABLE credit (
  code TEXT PRIMARY KEY NOT NULL, id TEXT NOT NULL UNIQUE,
  "order" TEXT NOT NULL REFERENCES orders (code),
  "delivery" TEXT REFERENCES delivery (code),
  "complaint" TEXT REFERENCES complaint (code),
  "quantity" INTEGER NOT NULL,
  "reason" TEXT NOT NULL,
  at_ms INTEGER NOT NULL, who TEXT, note TEXT, void INTEGER, event INTEGER NOT NULL
) STRICT;
CREATE INDEX track_side ON track (side);
CREATE INDEX delivery_orders ON delivery ("order");
CREATE INDEX shipment_orders ON shipment ("order");
CREATE INDEX carton_pallet ON carton (pallet);
CREATE INDEX label_carton ON label (carton);
CREATE INDEX label_pallet ON label (pallet);
CREATE INDEX label_sscc ON label (sscc);
CREATE INDEX credit_orders ON credit ("order");
)";

constexpr std::array all{Migration{1, entries_and_settings},
                         Migration{2, nouns},
                         Migration{3, disc_ledger},
                         Migration{4, ways_in},
                         Migration{5, opinions},
                         Migration{6, packing}};

}  // namespace

std::span<const Migration> migrations() {
  return all;
}

int version_of(Connection& connection) {
  connection.script(
      "CREATE TABLE IF NOT EXISTS version (version INTEGER PRIMARY KEY NOT NULL) STRICT");
  const auto rows = connection.ask("SELECT max(version) FROM version");
  return static_cast<int>(whole(rows.at(0).at(0)));
}

Outcome migrate(Connection& connection, int version) {
  try {
    for (const Migration& step : all) {
      if (step.version > version) break;
      if (version_of(connection) >= step.version) continue;
      connection.begin_write();
      if (version_of(connection) < step.version) {  // another program may have been first
        connection.script(step.sql);
        connection.run("INSERT INTO version (version) VALUES ($1)", {std::int64_t{step.version}});
      }
      connection.commit();
    }
    const int now = version_of(connection);
    if (now <= all.back().version) return Done{};
    return Error{Fault::bad_input,
                 fmt::format("the record is of version {}, and this program knows versions up to "
                             "{}; use the newer program",
                             now,
                             all.back().version)};
  } catch (const StoreFailure& failure) {
    connection.roll_back();
    return Error{Fault::io, failure.what()};
  }
}

Outcome migrate(Connection& connection) {
  return migrate(connection, all.back().version);
}

}  // namespace goodside::ledger
