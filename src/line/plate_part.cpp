#include "line/plate_part.hpp"

#include <fmt/format.h>

#include "line/part_layers.hpp"
#include "line/part_life.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::text;

PartToPlate facts(Reader& reader, const std::string& code) {
  const KnownPart known = known_part(reader, code);
  PartToPlate part{.code = code};
  if (const std::string side = text(at(known.row, "side")); !side.empty())
    part.format = text(at(reader.need("side", side), "format"));
  if (known.part.state == works::PartState::growing) {
    const std::string parent = text(at(known.row, "parent"));
    const KnownPart on = known_part(reader, parent);
    const bool wet =
        on.part.kind == works::PartKind::lacquer || on.part.kind == works::PartKind::wax;
    part.face = wet ? works::StartingFace::silvered : works::StartingFace::passivated;
    part.base_m = part_layers(reader, parent).whole_m();
    // Grown on in a second bath, copper on nickel: on its own fresh metal.
    if (known.part.done.contains(works::Step::grown)) {
      part.face = works::StartingFace::bare;
      part.base_m += part_layers(reader, code).whole_m();
    }
    return part;
  }
  if (known.part.state == works::PartState::finishing) {
    part.step = works::Step::faced;
    part.base_m = part_layers(reader, code).whole_m();
    return part;
  }
  throw ledger::Refused{
      {Fault::conflict,
       fmt::format(
           "{} is {}: only a part that grows is plated, or one in finishing faced; a new part "
           "is entered by `goodside works add part`",
           code,
           word(known.part.state))}};
}

}  // namespace

Result<PartToPlate> part_to_plate(ledger::Record& record, const std::string& code) {
  PartToPlate part;
  const auto asked = record.read([&](Reader& reader) { part = facts(reader, code); });
  if (!asked) return asked.error();
  return part;
}

Result<Entered> log_plating(const Desk& desk,
                            const PartToPlate& part,
                            const works::PlatingReport& report) {
  StepDone done{.part = part.code, .step = part.step, .note = "as calculated"};
  done.readings = {{"metal", {}, report.metal.name},
                   {"thickness_m", report.mean_thickness_m},
                   {"mass_kg", report.mass_kg},
                   {"charge_C", report.charge_C},
                   {"time_s", report.time_s},
                   {"current_A", report.stages.back().to_A}};
  if (report.spread) {
    done.readings.push_back({"thinnest_m", report.spread->band.least_m});
    done.readings.push_back({"thickest_m", report.spread->band.most_m});
  }
  return log_step(desk, done);
}

}  // namespace goodside::line
