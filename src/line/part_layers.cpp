#include "line/part_layers.hpp"

#include <string_view>
#include <variant>

#include "line/part_life.hpp"

namespace goodside::line {

using ledger::at;
using ledger::text;

PartLayers part_layers(ledger::Reader& reader, const std::string& code) {
  PartLayers layers;
  for (const auto& step : reader.standing("step", "part", code)) {
    if (text(at(step, "what")) != works::word(works::Step::grown)) continue;
    std::string metal;
    double thickness_m = 0.0;
    for (const auto& reading : reader.standing("reading", "step", text(at(step, "code")))) {
      if (text(at(reading, "name")) == "metal") metal = text(at(reading, "said"));
      if (text(at(reading, "name")) == "thickness_m" && !ledger::is_null(at(reading, "value")))
        thickness_m = std::get<double>(at(reading, "value"));
    }
    if (!(thickness_m > 0.0)) continue;
    if (metal.empty())
      layers = {.nickel_m = thickness_m, .from = layers.from};
    else
      (std::string_view{metal}.starts_with("copper") ? layers.copper_m : layers.nickel_m) +=
          thickness_m;
    layers.from += (layers.from.empty() ? "" : ", ") + text(at(step, "code"));
  }
  return layers;
}

Result<PartAsGrown> part_as_grown(ledger::Record& record, const std::string& code) {
  PartAsGrown part;
  const auto asked = record.read([&](ledger::Reader& reader) {
    const KnownPart known = known_part(reader, code);
    part.layers = part_layers(reader, code);
    if (const std::string side = text(at(known.row, "side")); !side.empty())
      part.format = text(at(reader.need("side", side), "format"));
  });
  if (!asked) return asked.error();
  return part;
}

}  // namespace goodside::line
