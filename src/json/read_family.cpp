#include <fmt/format.h>

#include <set>
#include <string>
#include <vector>

#include "base/near_miss.hpp"
#include "json/cursor.hpp"
#include "json/family.hpp"
#include "json/plays_words.hpp"
#include "json/trace_words.hpp"

namespace goodside::json {
namespace {

constexpr std::int64_t most_impressions = 1'000'000'000'000;

std::optional<std::int64_t> count_or_null(const Cursor& json) {
  if (json.is_null()) return {};
  return json.whole_number(1, most_impressions);
}

works::Impressions range(const Cursor& json) {
  if (json.list().size() != 2) json.refuse("two impressions should stand here, [first, last]");
  const works::Impressions both{json.at(0).whole_number(1, most_impressions),
                                json.at(1).whole_number(1, most_impressions)};
  if (both.last < both.first)
    json.refuse(fmt::format("{} comes after {}; write the lower first", both.first, both.last));
  return both;
}

/// n, [low, high] or null.
std::optional<works::Impressions> impression(const Cursor& json, bool is_list) {
  if (json.is_null()) return {};
  if (is_list) return range(json);
  const auto n = json.whole_number(1, most_impressions);
  return works::Impressions{n, n};
}

std::optional<double> probability(const Cursor& json) {
  const auto value = json.number_or_null();
  if (value && (*value < 0.0 || *value > 1.0))
    json.refuse("a probability from 0 to 1 should stand here");
  return value;
}

works::FamilyPart part(const Cursor& json) {
  return {.id = json["id"].text(),
          .kind = json["kind"].word(part_kinds),
          .parent = json["parent"].text_or_nothing(),
          .grown = count_or_null(json["grown"]),
          .material = json["material"].text_or_nothing(),
          .facing = json["facing"].text_or_nothing()};
}

bool is_list(const nlohmann::json& entry, const char* key) {
  const auto at = entry.find(key);
  return at != entry.end() && at->is_array();
}

works::FamilyDisc disc(const Cursor& json, const nlohmann::json& entry) {
  works::FamilyDisc one;
  one.id = json["id"].text();
  if (const auto stamper = json["stamper"]; !stamper.is_null())
    one.stamper = {stamper["A"].text_or_nothing(), stamper["B"].text_or_nothing()};
  one.mounting = json["mounting"].text_or_nothing();
  one.impression = impression(json["impression"], is_list(entry, "impression"));
  one.press = json["press"].text_or_nothing();
  one.batch = json["batch"].text_or_nothing();
  one.spindle = json["spindle"].text_or_nothing();
  one.carton = json["carton"].text_or_nothing();
  one.shift = json["shift"].text_or_nothing();
  one.recipe = json["recipe"].text_or_nothing();
  one.run = json["run"].text_or_nothing();
  if (const auto fetchable = json["fetchable"]; !fetchable.is_null())
    one.fetchable = fetchable.truth();
  return one;
}

works::FamilyStock stock(const Cursor& json) {
  works::FamilyStock one{.carton = json["carton"].text_or_nothing(),
                         .spindle = json["spindle"].text_or_nothing(),
                         .impressions = range(json["impressions"]),
                         .fetchable = false};
  if (one.carton.empty() == one.spindle.empty())
    json.refuse("name the carton or the spindle, one of them");
  if (const auto fetchable = json["fetchable"]; !fetchable.is_null())
    one.fetchable = fetchable.truth();
  return one;
}

works::FamilyStep step(const Cursor& json, const nlohmann::json& entry) {
  works::FamilyStep one;
  one.part = json["part"].text_or_nothing();
  one.mounting = json["mounting"].text_or_nothing();
  one.what = json["what"].text_or_nothing();
  if (one.part.empty() == one.mounting.empty())
    json.refuse("name the part or the mounting, one of them");
  // `at` holds an impression, or a time as text; the longer names say which.
  const auto at = entry.find("at");
  if (at != entry.end() && at->is_string())
    one.time = json["at"].text();
  else
    one.at = impression(json["at"], is_list(entry, "at"));
  if (!one.at) one.at = impression(json["impression"], is_list(entry, "impression"));
  if (one.time.empty()) one.time = json["time"].text_or_nothing();
  one.after_grown = count_or_null(json["after_grown"]);
  return one;
}

works::FamilyReport report(const Cursor& json) {
  works::FamilyReport one;
  one.disc = json["disc"].text();
  if (const auto side = json["side"]; !side.is_null()) one.side = side.word(disc_sides);
  one.play = count_or_null(json["play"]).value_or(1);
  if (const auto after = json["after"]; !after.is_null()) one.after = after.word(afters);
  one.file = json["file"].text();
  return one;
}

works::FamilyRemark remark(const Cursor& json) {
  works::FamilyRemark one;
  one.disc = json["disc"].text_or_nothing();
  one.carton = json["carton"].text_or_nothing();
  one.run = json["run"].text_or_nothing();
  if (const auto side = json["side"]; !side.is_null()) one.side = side.word(disc_sides);
  one.programme_s = json["programme_s"].number_or_null();
  one.within_s = json["within_s"].number_or_null().value_or(one.within_s);
  if (!(one.within_s >= 0.0)) json["within_s"].refuse("a time of 0 s or more should stand here");
  one.angle_deg = json["angle_deg"].number_or_null();
  one.radius_m = json["radius_m"].number_or_null();
  one.reliability = probability(json["reliability"]);
  one.words = json["words"].text_or_nothing();
  one.from = json["from"].text_or_nothing();
  return one;
}

class Entries {
 public:
  Entries(const nlohmann::json& document, std::vector<works::RefusedInput>& refused)
      : document_{document}, refused_{refused} {}

  template <class Noun, class Read>
  void read(const char* key, std::vector<Noun>& out, const Read& read_one) {
    const auto list = document_.find(key);
    if (list == document_.end() || list->is_null()) return;
    Cursor{*list, key, none_}.list();
    out.reserve(list->size());
    for (std::size_t i = 0; i < list->size(); ++i) {
      const std::string path = fmt::format("{}[{}]", key, i);
      try {
        const Cursor entry{(*list)[i], path, none_};
        entry.object();
        if constexpr (std::is_invocable_v<Read, const Cursor&, const nlohmann::json&>)
          out.push_back(read_one(entry, (*list)[i]));
        else
          out.push_back(read_one(entry));
      } catch (const Refusal& refusal) {
        refused_.push_back({path, refusal.error.text});
      }
    }
  }

  /// Item by item: one that cannot be used keeps its invented value.
  works::TraceCosts read_costs() {
    works::TraceCosts costs;
    const auto table = document_.find("costs");
    if (table == document_.end() || table->is_null()) return costs;
    if (!table->is_object()) {
      refused_.push_back({"costs", "a table of items should stand here; invented costs are used"});
      return costs;
    }
    for (const auto& [name, value] : table->items()) {
      try {
        take_cost(name, {value, "costs." + name, none_}, costs);
      } catch (const Refusal& refusal) {
        refused_.push_back({"costs", refusal.error.text});
      }
    }
    return costs;
  }

 private:
  static void take_cost(const std::string& name, const Cursor& json, works::TraceCosts& costs) {
    std::vector<std::string> names;
    for (const auto& item : works::cost_items) {
      names.emplace_back(item.name);
      if (item.name != name) continue;
      const auto given = json.number_or_null();
      if (!given) return;
      if (!works::may_be(item, *given))
        json.refuse(fmt::format("{}; the invented one is used", works::expected(item)));
      costs.*item.value = *given;
      ++costs.told;
      return;
    }
    json.refuse("no such cost; " + suggestion(name, names).value_or("docs/trace.md lists them"));
  }

  const nlohmann::json& document_;
  std::vector<works::RefusedInput>& refused_;
  std::set<std::string> none_;
};

ReadFamily whole(const nlohmann::json& document) {
  const std::set<std::string> none;
  const Cursor json{document, "", none};
  if (json["schema"].text() != "goodside.family/1")
    json["schema"].refuse("goodside.family/1 is read here; a newer one needs a newer goodside");
  ReadFamily read;
  Entries entries{document, read.refused};
  auto& family = read.family;
  entries.read("parts", family.parts, part);
  entries.read("discs", family.discs, disc);
  entries.read("stock", family.stock, stock);
  entries.read("steps", family.steps, step);
  entries.read("reports", family.reports, report);
  entries.read("remarks", family.remarks, remark);
  family.costs = entries.read_costs();
  return read;
}

}  // namespace

Result<ReadFamily> read_family(std::string_view text) {
  const auto document = parse_guarded(text, largest_family_bytes, "the family file");
  if (!document) return document.error();
  try {
    return whole(*document);
  } catch (const Refusal& refusal) {
    return refusal.error;
  }
}

}  // namespace goodside::json
