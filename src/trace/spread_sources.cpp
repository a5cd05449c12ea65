#include "trace/spread_sources.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <string_view>

#include "base/expects.hpp"

namespace goodside::trace {
namespace {

std::string_view name(SourceKind kind) {
  switch (kind) {
    case SourceKind::stamper:
      return "stamper";
    case SourceKind::mounting:
      return "mounting";
    case SourceKind::press:
      return "press";
    case SourceKind::batch:
      return "batch";
    case SourceKind::recipe:
      return "recipe";
    case SourceKind::shift:
      return "shift";
  }
  EXPECTS(false);
}

const std::string& label(const works::FamilyDisc& disc, works::DiscSide side, SourceKind kind) {
  switch (kind) {
    case SourceKind::stamper:
      return disc.stamper_of(side);
    case SourceKind::mounting:
      return disc.mounting;
    case SourceKind::press:
      return disc.press;
    case SourceKind::batch:
      return disc.batch;
    case SourceKind::recipe:
      return disc.recipe;
    case SourceKind::shift:
      return disc.shift;
  }
  EXPECTS(false);
}

/// Levels are numbered as they first come, so that two sources that divide alike have equal numbers.
SpreadSource divided(std::span<const works::FamilyDisc* const> discs,
                     works::DiscSide side,
                     SourceKind kind) {
  SpreadSource source{.name = std::string{name(kind)}};
  std::map<std::string, int> numbers;
  for (const auto* disc : discs) {
    const std::string& id = label(*disc, side, kind);
    int level = source.factor.levels;
    if (!id.empty()) level = numbers.try_emplace(id, level).first->second;
    if (level == source.factor.levels) {
      ++source.factor.levels;
      source.ids.push_back(id);
      source.discs.push_back(0);
    }
    source.factor.level.push_back(level);
    ++source.discs[static_cast<std::size_t>(level)];
  }
  return source;
}

}  // namespace

SpreadSources spread_sources(std::span<const works::FamilyDisc* const> discs,
                             works::DiscSide side,
                             std::span<const SourceKind> kinds) {
  SpreadSources result;
  for (const SourceKind kind : kinds) {
    SpreadSource source = divided(discs, side, kind);
    const auto known =
        std::ranges::count_if(source.ids, [](const auto& id) { return !id.empty(); });
    const auto same = std::ranges::find_if(result.told, [&](const SpreadSource& other) {
      return other.factor.level == source.factor.level;
    });
    if (known == 0)
      result.not_told.push_back(fmt::format("{}: not known of any disc", source.name));
    else if (source.factor.levels < 2)
      result.not_told.push_back(fmt::format("{}: all discs are of one", source.name));
    else if (std::ranges::max(source.discs) < 2)
      result.not_told.push_back(fmt::format("{}: no two discs are of one", source.name));
    else if (same != result.told.end()) {
      result.not_told.push_back(
          fmt::format("{}: on these discs it changes just with the {}", source.name, same->name));
      same->name += " or " + source.name;
    } else {
      result.told.push_back(std::move(source));
    }
  }
  return result;
}

}  // namespace goodside::trace
