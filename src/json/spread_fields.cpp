#include "json/spread_fields.hpp"

#include <cmath>
#include <set>

#include "json/figures.hpp"

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

constexpr double hundredths = 1e2;
constexpr std::int64_t most_discs = 100'000'000;
constexpr Words<works::DiscSide, 2> sides{{{works::DiscSide::A, "A"}, {works::DiscSide::B, "B"}}};

/// Five digits of a figure of any size.
Json digits(double value) {
  if (value == 0.0 || !std::isfinite(value)) return figure(value, 1.0);
  return rounded(value, std::pow(10.0, 4.0 - std::floor(std::log10(std::abs(value)))));
}

Json components(const std::vector<works::SpreadComponent>& all) {
  Json json = Json::object();
  for (const auto& one : all)
    json[one.source] = {
        {"variance", digits(one.variance)}, {"low", digits(one.low)}, {"high", digits(one.high)}};
  return json;
}

/// JSON keeps no order among the members of an object: the order is told beside it.
Json sources_of(const std::vector<works::SpreadComponent>& all) {
  Json json = Json::array();
  for (const auto& one : all) json.push_back(one.source);
  return json;
}

Json notes(const works::Spread& one) {
  Json json{{"measure", one.measure},
            {"side", word(one.side, sides)},
            {"unit", one.unit},
            {"mean", digits(one.mean)},
            {"discs", one.discs},
            {"intervals", one.intervals},
            {"sources", sources_of(one.components)}};
  json["levels"] = Json::array();
  for (const auto& level : one.levels)
    json["levels"].push_back({{"source", level.source},
                              {"id", level.id},
                              {"effect", digits(level.effect)},
                              {"sigma", digits(level.sigma)},
                              {"discs", level.discs}});
  json["not_told"] = one.not_told;
  return json;
}

Json off_centre(const works::OffCentre& one) {
  Json json{{"side", word(one.side, sides)},
            {"discs", one.discs},
            {"mean_m", {digits(one.mean_x_m), digits(one.mean_y_m)}},
            {"components", components(one.components)},
            {"sources", sources_of(one.components)}};
  json["holes"] = Json::array();
  for (const auto& hole : one.holes)
    json["holes"].push_back({{"id", hole.id},
                             {"size_m", digits(hole.size_m)},
                             {"direction_deg", figure(hole.direction_deg, hundredths)},
                             {"sigma_m", digits(hole.sigma_m)},
                             {"discs", hole.discs}});
  json["pins"] = Json::array();
  for (const auto& pin : one.pins)
    json["pins"].push_back({{"press", pin.press},
                            {"size_m", digits(pin.size_m)},
                            {"sigma_m", digits(pin.sigma_m)},
                            {"mountings", pin.mountings},
                            {"discs", pin.discs}});
  json["not_told"] = one.not_told;
  return json;
}

int count(const Cursor& json) {
  return static_cast<int>(json.whole_number(0, most_discs));
}

std::vector<std::string> texts(const Cursor& json) {
  std::vector<std::string> all;
  for (std::size_t i = 0; i < json.list().size(); ++i) all.push_back(json.at(i).text());
  return all;
}

std::vector<works::SpreadComponent> read_components(const Cursor& json,
                                                    const std::vector<std::string>& sources) {
  std::vector<works::SpreadComponent> all;
  for (const auto& source : sources)
    all.push_back({.source = source,
                   .variance = json[source]["variance"].number(),
                   .low = json[source]["low"].number(),
                   .high = json[source]["high"].number()});
  return all;
}

void read_notes(const Cursor& json, works::Spread& one) {
  one.measure = json["measure"].text();
  one.side = json["side"].word(sides);
  one.unit = json["unit"].text();
  one.mean = json["mean"].number();
  one.discs = count(json["discs"]);
  one.intervals = json["intervals"].text();
  const auto levels = json["levels"];
  for (std::size_t i = 0; i < levels.list().size(); ++i) {
    const auto level = levels.at(i);
    one.levels.push_back({.source = level["source"].text(),
                          .id = level["id"].text(),
                          .effect = level["effect"].number(),
                          .sigma = level["sigma"].number(),
                          .discs = count(level["discs"])});
  }
  one.not_told = texts(json["not_told"]);
}

works::OffCentre read_off_centre(const Cursor& json) {
  works::OffCentre one{.side = json["side"].word(sides)};
  one.discs = count(json["discs"]);
  one.mean_x_m = json["mean_m"].at(0).number();
  one.mean_y_m = json["mean_m"].at(1).number();
  one.components = read_components(json["components"], texts(json["sources"]));
  const auto holes = json["holes"], pins = json["pins"];
  for (std::size_t i = 0; i < holes.list().size(); ++i) {
    const auto hole = holes.at(i);
    one.holes.push_back({.id = hole["id"].text(),
                         .size_m = hole["size_m"].number(),
                         .direction_deg = hole["direction_deg"].number(),
                         .sigma_m = hole["sigma_m"].number(),
                         .discs = count(hole["discs"])});
  }
  for (std::size_t i = 0; i < pins.list().size(); ++i) {
    const auto pin = pins.at(i);
    one.pins.push_back({.press = pin["press"].text(),
                        .size_m = pin["size_m"].number(),
                        .sigma_m = pin["sigma_m"].number(),
                        .mountings = count(pin["mountings"]),
                        .discs = count(pin["discs"])});
  }
  one.not_told = texts(json["not_told"]);
  return one;
}

}  // namespace

void add_spread(const works::TraceReport& report, nlohmann::ordered_json& trace) {
  Json spread = Json::object(), all = Json::array();
  for (const auto& one : report.spread) {
    const std::string name = spread.contains(one.measure) ? one.measure + " B" : one.measure;
    spread[name] = components(one.components);
    all.push_back(notes(one));
  }
  trace["spread"] = std::move(spread);
  trace["spread_notes"] = std::move(all);
  trace["off_centre"] = Json::array();
  for (const auto& one : report.off_centre) trace["off_centre"].push_back(off_centre(one));
}

void read_spread(const Cursor& trace, const nlohmann::json& document, works::TraceReport& report) {
  const auto spread = trace["spread"], all = trace["spread_notes"], off = trace["off_centre"];
  spread.object();
  const auto& named = document.at("spread");
  for (const auto& [measure, held] : named.items()) {
    std::vector<std::string> sources;
    spread[measure].object();
    for (const auto& [source, ignored] : held.items()) sources.push_back(source);
    report.spread.push_back(
        {.measure = measure, .components = read_components(spread[measure], sources)});
  }
  if (!all.is_null()) {
    report.spread.clear();
    std::set<std::string> seen;
    for (std::size_t i = 0; i < all.list().size(); ++i) {
      works::Spread one;
      read_notes(all.at(i), one);
      const std::string name = seen.insert(one.measure).second ? one.measure : one.measure + " B";
      one.components = read_components(spread[name], texts(all.at(i)["sources"]));
      report.spread.push_back(std::move(one));
    }
  }
  if (off.is_null()) return;
  for (std::size_t i = 0; i < off.list().size(); ++i)
    report.off_centre.push_back(read_off_centre(off.at(i)));
}

}  // namespace goodside::json
