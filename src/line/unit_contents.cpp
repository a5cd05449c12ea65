#include "line/unit_contents.hpp"

#include <fmt/format.h>

#include <set>

#include "line/close_units.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::refuse;
using ledger::Row;
using ledger::text;
using ledger::whole;

/// Where discs of this interval stood before they came into the carton.
std::vector<std::string> spindles_of(Reader& reader,
                                     const std::string& carton,
                                     const std::string& run,
                                     const works::Impressions& range) {
  std::vector<std::string> spindles;
  for (const auto& cell : reader.connection().ask(
           "SELECT DISTINCT from_at FROM movement WHERE run = $1 AND to_at = $2 AND from_at <> $2 "
           "AND "
           "\"first\" <= $3 AND \"last\" >= $4 AND from_at IS NOT NULL ORDER BY from_at",
           {run, carton, range.last, range.first}))
    if (!text(cell[0]).empty()) spindles.push_back(text(cell[0]));
  return spindles;
}

}  // namespace

CartonContents carton_contents(Reader& reader, const std::string& code) {
  const Row row = reader.need("carton", code);
  CartonContents carton{.code = code,
                        .order = text(at(row, "order")),
                        .state = text(at(row, "state")),
                        .pallet = text(at(row, "pallet")),
                        .shipment = text(at(row, "shipment")),
                        .sscc = sscc_of(reader, "carton", code),
                        .capacity = whole(at(row, "capacity")),
                        .gross_kg = {},
                        .lines = {}};
  if (const auto& mass = at(row, "gross_kg"); !ledger::is_null(mass))
    carton.gross_kg = std::get<double>(mass);
  for (const auto& cell : reader.connection().ask(
           "SELECT DISTINCT run FROM holding WHERE at = $1 ORDER BY run", {code})) {
    const std::string run = text(cell[0]);
    for (const works::Holding& holding : reader.holdings(run)) {
      if (holding.spot.at != code) continue;
      carton.discs += holding.quantity;
      carton.lines.push_back({run, holding, spindles_of(reader, code, run, holding.impressions)});
    }
  }
  return carton;
}

std::int64_t UnitContents::discs() const {
  std::int64_t sum = 0;
  for (const CartonContents& carton : cartons) sum += carton.discs;
  return sum;
}

UnitContents unit_contents(Reader& reader, const std::string& code) {
  UnitContents unit;
  unit.code = code;
  const auto add_all = [&](const char* column) {
    for (const Row& carton : reader.standing("carton", column, code))
      unit.cartons.push_back(carton_contents(reader, text(at(carton, "code"))));
  };
  if (reader.find("carton", code)) {
    unit.kind = "carton";
    unit.cartons = {carton_contents(reader, code)};
    unit.order = unit.cartons[0].order;
    unit.state = unit.cartons[0].state;
    unit.sscc = unit.cartons[0].sscc;
  } else if (reader.find("pallet", code)) {
    const Row row = reader.need("pallet", code);
    unit.kind = "pallet";
    unit.order = text(at(row, "order"));
    unit.state = text(at(row, "state"));
    unit.sscc = sscc_of(reader, "pallet", code);
    add_all("pallet");
  } else if (reader.find("shipment", code)) {
    const Row row = reader.need("shipment", code);
    unit.kind = "shipment";
    unit.order = text(at(row, "order"));
    unit.state = text(at(row, "state"));
    unit.to = text(at(row, "to"));
    unit.carrier = text(at(row, "carrier"));
    unit.delivery = text(at(row, "delivery"));
    add_all("shipment");
  } else {
    refuse(Fault::not_found, fmt::format("there is no carton, pallet or shipment {}", code));
  }
  return unit;
}

Result<UnitContents> unit_contents(ledger::Record& record, const std::string& code) {
  UnitContents unit;
  const auto asked = record.read([&](Reader& reader) { unit = unit_contents(reader, code); });
  if (!asked) return asked.error();
  return unit;
}

std::string ranges_text(const CartonContents& carton) {
  std::string out, run;
  for (const ContentLine& line : carton.lines) {
    if (!out.empty()) out += line.run == run ? ", " : "; ";
    if (line.run != run) out += line.run + " ";
    run = line.run;
    const auto& range = line.holding.impressions;
    out += range.first == range.last ? fmt::format("{}", range.first)
                                     : fmt::format("{}–{}", range.first, range.last);
    if (!line.holding.exact()) out += fmt::format(" ({} of them)", line.holding.quantity);
  }
  return out;
}

std::string spindles_text(const CartonContents& carton) {
  std::set<std::string> all;
  for (const ContentLine& line : carton.lines)
    all.insert(line.spindles.begin(), line.spindles.end());
  std::string out;
  for (const std::string& spindle : all) out += (out.empty() ? "" : ", ") + spindle;
  return out;
}

}  // namespace goodside::line
