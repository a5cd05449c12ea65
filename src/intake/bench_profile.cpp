#include "intake/bench_profile.hpp"

#include <fmt/format.h>

#include "intake/safe_file.hpp"
#include "intake/toml_table.hpp"
#include "units/read.hpp"

namespace goodside::intake {
namespace {

/// A quantity above zero, as a text with its unit. Only a unit that the reader can do without,
/// turns a minute, may also be a plain number.
struct Quantity {
  const char* key;
  std::optional<double> BenchProfile::*field;
  Result<double> (*parse)(std::string_view);
  const char* example;
};

constexpr Quantity quantities[] = {
    {"arm_length", &BenchProfile::arm_length_m, units::length_m, "\"230 mm\""},
    {"arm_mount", &BenchProfile::arm_mount_m, units::length_m, "\"215 mm\""},
    {"outer_radius", &BenchProfile::outer_radius_m, units::length_m, "\"146 mm\""},
    {"inner_radius", &BenchProfile::inner_radius_m, units::length_m, "\"60 mm\""},
    {"pitch", &BenchProfile::pitch_m, units::pitch_m, "\"250 lpi\""},
    {"rpm", &BenchProfile::rpm, units::rotation_rpm, "45 or \"33 1/3\""},
};

Outcome take(const TomlTable& table, const Quantity& quantity, BenchProfile& bench) {
  const std::string key{quantity.key};
  std::string words;
  if (table.holds_words(key)) {
    words = table.words(key)->value_or("");
  } else {
    const auto number = table.number(key);
    if (number && !*number) return Done{};
    if (!number || quantity.field != &BenchProfile::rpm)
      return table.refuse(
          key, fmt::format("write the number with its unit, in quotes: {}", quantity.example));
    words = fmt::format("{}", **number);
  }
  const auto value = quantity.parse(words);
  if (!value) return table.refuse(key, value.error().text);
  if (*value <= 0.0)
    return table.refuse(key,
                        fmt::format("{} is not above zero; write {}", words, quantity.example));
  bench.*quantity.field = *value;
  return Done{};
}

Outcome take_clock(const TomlTable& table, BenchProfile& bench) {
  constexpr double largest_ppm = 1000.0;
  const auto given = table.number("clock_error_ppm");
  if (!given) return given.error();
  if (*given && (**given < -largest_ppm || **given > largest_ppm))
    return table.refuse("clock_error_ppm",
                        fmt::format("{} lies outside -{} to {}; no sound card is so far off",
                                    **given,
                                    largest_ppm,
                                    largest_ppm));
  bench.clock_error_ppm = *given;
  return Done{};
}

Outcome take(const TomlTable& table,
             const std::string& key,
             std::optional<std::string> BenchProfile::*field,
             BenchProfile& bench) {
  const auto words = table.words(key);
  if (!words) return words.error();
  bench.*field = *words;
  return Done{};
}

Outcome take_everything(const TomlTable& table, BenchProfile& bench) {
  if (auto known = table.only({"arm_length",
                               "arm_mount",
                               "clock_error_ppm",
                               "format",
                               "rpm",
                               "outer_radius",
                               "inner_radius",
                               "pitch",
                               "cartridge",
                               "equalise"});
      !known)
    return known;
  for (const auto& quantity : quantities)
    if (auto taken = take(table, quantity, bench); !taken) return taken;
  if (auto taken = take_clock(table, bench); !taken) return taken;
  if (auto taken = take(table, "format", &BenchProfile::format, bench); !taken) return taken;
  if (auto taken = take(table, "cartridge", &BenchProfile::cartridge, bench); !taken) return taken;
  return take(table, "equalise", &BenchProfile::equalise, bench);
}

Outcome makes_sense(const TomlTable& table, const BenchProfile& bench) {
  if (bench.arm_length_m.has_value() != bench.arm_mount_m.has_value())
    return table.refuse(bench.arm_length_m ? "arm_length" : "arm_mount",
                        "arm_length and arm_mount go together; give both, or neither");
  if (bench.arm_length_m && *bench.arm_length_m <= *bench.arm_mount_m)
    return table.refuse(
        "arm_length",
        "a pivoted arm reaches past the spindle; arm_length must be more than arm_mount");
  if (bench.outer_radius_m && bench.inner_radius_m &&
      *bench.outer_radius_m <= *bench.inner_radius_m)
    return table.refuse("outer_radius", "must be more than inner_radius; see which is which");
  return Done{};
}

}  // namespace

Result<BenchProfile> bench_from_toml(std::string_view text,
                                     const std::string& shown_name,
                                     const std::string& bench) {
  const auto document = TomlTable::parse(text, shown_name);
  if (!document) return document.error();
  const auto all = document->table("bench");
  if (!all) return all.error();
  if (!*all)
    return Error{Fault::not_found,
                 fmt::format("{}: holds no bench; add a table [bench.{}]", shown_name, bench)};
  const auto table = (*all)->table(bench);
  if (!table) return table.error();
  if (!*table)
    return Error{Fault::not_found,
                 fmt::format("{}: there is no bench '{}'; it holds {}",
                             shown_name,
                             bench,
                             fmt::join((*all)->keys(), ", "))};
  BenchProfile profile;
  profile.name = bench;
  if (auto taken = take_everything(**table, profile); !taken) return taken.error();
  if (auto sensible = makes_sense(**table, profile); !sensible) return sensible.error();
  return profile;
}

Result<BenchProfile> read_bench(const std::string& path, const std::string& bench) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return bench_from_toml(*text, path, bench);
}

}  // namespace goodside::intake
