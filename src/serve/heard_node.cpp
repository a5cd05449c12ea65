#include "serve/heard_node.hpp"

#include <algorithm>

#include "disc/format.hpp"
#include "draw/disc_shape.hpp"
#include "serve/geometry_node.hpp"

namespace goodside::serve {

using ledger::at;
using ledger::Row;
using ledger::text;

json::Node side_node(ledger::Reader& reader, const HeardSum& sum) {
  const Row side = reader.find("side", sum.key).value_or(Row{});
  const Row title = ledger::is_null(at(side, "title"))
                        ? Row{}
                        : reader.find("title", at(side, "title")).value_or(Row{});
  return Object{{"code", sum.key},
                {"title", text(at(side, "title"))},
                {"name", text(at(title, "name"))},
                {"artist", cell(title, "artist")},
                {"letter", text(at(side, "letter"))},
                {"format", cell(side, "format")},
                {"plays", sum.plays},
                {"passed", sum.passed},
                {"last_ms", or_null(sum.last_ms)}};
}

json::Node stamper_node(const HeardSum& sum, std::int64_t closings) {
  return Object{{"stamper", or_null(sum.key)},
                {"plays", sum.plays},
                {"passed", sum.passed},
                {"plain", sum.plain},
                {"slight", sum.slight},
                {"closings", closings},
                {"last_ms", or_null(sum.last_ms)}};
}

std::optional<Row> cut_of(ledger::Reader& reader,
                          const std::string& side,
                          const std::string& stamper) {
  if (!stamper.empty())
    if (const auto part = reader.find("part", stamper); part && !ledger::is_null(at(*part, "cut")))
      if (auto cut = reader.find("cut", at(*part, "cut")); cut && ledger::stands(*cut)) return cut;
  const auto cuts = reader.standing("cut", "side", side);
  if (cuts.empty()) return std::nullopt;
  return *std::ranges::max_element(
      cuts, {}, [](const Row& row) { return ledger::whole(at(row, "at_ms")); });
}

json::Node shape_node(ledger::Reader& reader, const Row& side) {
  works::SideGeometry geometry{.format = text(at(side, "format"))};
  const auto take = [](const Row& row, const char* column, double& into) {
    if (const auto* number = std::get_if<double>(&at(row, column))) into = *number;
  };
  if (const auto format = disc::format(geometry.format)) {
    geometry.rpm = format->rpm;
    geometry.outer_radius_m = format->outer_radius_m;
    geometry.inner_radius_m = format->inner_radius_m;
  }
  take(side, "speed_rpm", geometry.rpm);
  if (const auto cut = cut_of(reader, text(at(side, "code")), {})) {
    take(*cut, "speed_rpm", geometry.rpm);
    take(*cut, "outer_radius_m", geometry.outer_radius_m);
    take(*cut, "inner_radius_m", geometry.inner_radius_m);
    take(*cut, "pitch_m", geometry.pitch_m);
  }
  if (geometry.rpm <= 0.0 || geometry.outer_radius_m <= 0.0) return {};
  return geometry_node(geometry);
}

}  // namespace goodside::serve
