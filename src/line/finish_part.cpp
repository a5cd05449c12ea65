#include "line/finish_part.hpp"

#include <algorithm>
#include <cmath>

#include "line/part_life.hpp"

namespace goodside::line {

Result<std::string> format_of_part(ledger::Record& record, const std::string& code) {
  std::string format;
  const auto asked = record.read([&](ledger::Reader& reader) {
    const KnownPart known = known_part(reader, code);
    if (const std::string side = ledger::text(ledger::at(known.row, "side")); !side.empty())
      format = ledger::text(ledger::at(reader.need("side", side), "format"));
  });
  if (!asked) return asked.error();
  return format;
}

Result<Entered> log_centring(const Desk& desk,
                             const std::string& part,
                             const works::CentringReport& report) {
  StepDone done{.part = part, .step = works::Step::centred, .note = "from a " + report.source};
  if (report.source == "readings") done.note = "from readings";
  done.readings = {{"offset_x_m", report.offset.x_m},
                   {"offset_y_m", report.offset.y_m},
                   {"offset_m", report.length_m},
                   {"direction_deg", report.direction_deg},
                   {"limit_m", report.limit_m}};
  if (report.offset.x_sigma_m)
    done.readings.push_back({"offset_x_sigma_m", report.offset.x_sigma_m});
  if (report.offset.y_sigma_m)
    done.readings.push_back({"offset_y_sigma_m", report.offset.y_sigma_m});
  if (report.offset.x_sigma_m && std::isfinite(report.offset.degrees_of_freedom))
    done.readings.push_back({"degrees_of_freedom", report.offset.degrees_of_freedom});
  return log_step(desk, done);
}

Result<Entered> log_backing(const Desk& desk,
                            const std::string& part,
                            const works::BackingReport& report) {
  StepDone done{.part = part, .step = works::Step::backed, .note = "as calculated"};
  done.readings = {{"solder", {}, report.solder}, {"bow_m", report.bows.front().sag_m}};
  for (const auto& layer : report.layers) {
    std::string name = layer.name + "_thickness_m";
    std::ranges::replace(name, ' ', '_');
    done.readings.push_back({std::move(name), layer.thickness_m});
  }
  return log_step(desk, done);
}

}  // namespace goodside::line
