#include "intake/limits.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <optional>

#include "intake/safe_file.hpp"
#include "intake/toml_table.hpp"

namespace goodside::intake {
namespace {

using works::Limits;

constexpr std::array<std::string_view, 13> formats{"7in-33",
                                                   "7in-45",
                                                   "7in-78",
                                                   "7in-77.92",
                                                   "10in-33",
                                                   "10in-45",
                                                   "10in-78",
                                                   "10in-77.92",
                                                   "12in-33",
                                                   "12in-45",
                                                   "12in-78",
                                                   "12in-77.92",
                                                   "custom"};

/// One count of works::Limits, and what the TOML text says of it.
struct Count {
  const char* key;
  std::optional<int> Limits::*field;
  const char* remark;
};

constexpr Count counts[] = {
    {"plain_faults_per_side", &Limits::plain_faults_per_side, "plainly audible faults"},
    {"worst_pattern_faults", &Limits::worst_pattern_faults, "faults of one radial or arc pattern"},
};

/// One number of works::Limits, the range in which a person can mean it, and what the TOML text
/// says of it.
struct Figure {
  const char* key;
  std::optional<double> Limits::*field;
  double low, high;
  const char* remark;
};

constexpr Figure figures[] = {
    {"slight_faults_per_min",
     &Limits::slight_faults_per_min,
     0.0,
     1e6,
     "slightly audible, a minute heard"},
    {"loudest_fault_dB",
     &Limits::loudest_fault_dB,
     -200.0,
     60.0,
     "peak; full scale of the cut is 0 dB"},
    {"eccentricity_m",
     &Limits::eccentricity_m,
     0.0,
     0.1,
     "hole to spiral: IEC 60098:1987, JIS S 8502-1973; taken as the offset, not the run-out"},
    {"speed_error", &Limits::speed_error, 0.0, 1.0, "fraction of rated: IEC 60098:2020, 5.6"},
    {"once_per_rev_peak",
     &Limits::once_per_rev_peak,
     0.0,
     1.0,
     "fraction; eccentricity_m judges the same"},
    {"weighted_2sigma", &Limits::weighted_2sigma, 0.0, 1.0, "fraction; holds the player's own wow"},
    {"weighted_noise_dB", &Limits::weighted_noise_dB, -200.0, 60.0, "0 dB as the report states it"},
    {"rumble_dB", &Limits::rumble_dB, -200.0, 60.0, "0 dB as the report states it"},
    {"hum_dB", &Limits::hum_dB, -200.0, 60.0, "0 dB as the report states it"},
    {"echo_dB", &Limits::echo_dB, -200.0, 60.0, "of the neighbouring turn"},
    {"balance_dB", &Limits::balance_dB, 0.0, 100.0, "right against left, either way"},
    {"level_deviation_dB",
     &Limits::level_deviation_dB,
     0.0,
     100.0,
     "worst third octave, 250 Hz to 9 kHz"},
};

/// Common practice, no source, save where a figure's remark names one. The wow of the whole chain
/// and the peak once a turn are not judged: the first is the player's as much as the disc's, the
/// second is the offset again.
Limits vinyl(std::string_view format) {
  Limits limits;
  limits.name = std::string{format};
  limits.plain_faults_per_side = 2;
  limits.slight_faults_per_min = 3.0;
  limits.worst_pattern_faults = 4;
  limits.jumps_allowed = false;
  limits.loudest_fault_dB = -6.0;
  limits.eccentricity_m = 0.2e-3;
  limits.speed_error = 0.005;
  limits.weighted_noise_dB = -40.0;
  limits.rumble_dB = -30.0;
  limits.hum_dB = -35.0;
  limits.echo_dB = -34.0;
  limits.balance_dB = 3.0;
  limits.level_deviation_dB = 5.0;
  return limits;
}

/// A filled compound is coarse by nature: noise and slight faults are its sound, a plain fault is
/// not.
Limits shellac(std::string_view format) {
  Limits limits = vinyl(format);
  limits.plain_faults_per_side = 3;
  limits.slight_faults_per_min = 30.0;
  limits.worst_pattern_faults = 8;
  limits.loudest_fault_dB = -3.0;
  limits.weighted_noise_dB = -18.0;
  limits.rumble_dB = -20.0;
  limits.hum_dB = -25.0;
  limits.echo_dB = -28.0;
  limits.level_deviation_dB = 8.0;
  return limits;
}

bool is_format(std::string_view name) {
  return std::find(formats.begin(), formats.end(), name) != formats.end();
}

/// True where the words "not judged" stand; any other words are refused.
Result<bool> is_waived(const TomlTable& table, const std::string& key) {
  if (!table.holds_words(key)) return false;
  const auto words = table.words(key);
  if (words && words->value_or("") == "not judged") return true;
  return table.refuse(key, "write a number, or \"not judged\"");
}

Outcome take(const TomlTable& table, const Count& count, Limits& limits) {
  const auto waived = is_waived(table, count.key);
  if (!waived) return waived.error();
  if (*waived) (limits.*count.field).reset();
  if (*waived) return Done{};
  const auto given = table.whole_number(count.key);
  if (!given) return given.error();
  constexpr std::int64_t most = 1'000'000;
  if (!*given) return Done{};
  if (**given < 0 || **given > most)
    return table.refuse(count.key, fmt::format("{} lies outside 0 to {}", **given, most));
  limits.*count.field = static_cast<int>(**given);
  return Done{};
}

Outcome take(const TomlTable& table, const Figure& figure, Limits& limits) {
  const auto waived = is_waived(table, figure.key);
  if (!waived) return waived.error();
  if (*waived) (limits.*figure.field).reset();
  if (*waived) return Done{};
  const auto given = table.number(figure.key);
  if (!given) return given.error();
  if (!*given) return Done{};
  if (**given < figure.low || **given > figure.high)
    return table.refuse(figure.key,
                        fmt::format("{} lies outside {} to {}", **given, figure.low, figure.high));
  limits.*figure.field = **given;
  return Done{};
}

Outcome take_table(const TomlTable& table, Limits& limits) {
  if (auto known = table.only({"name",
                               "plain_faults_per_side",
                               "slight_faults_per_min",
                               "worst_pattern_faults",
                               "jumps_allowed",
                               "loudest_fault_dB",
                               "eccentricity_m",
                               "speed_error",
                               "once_per_rev_peak",
                               "weighted_2sigma",
                               "weighted_noise_dB",
                               "rumble_dB",
                               "hum_dB",
                               "echo_dB",
                               "balance_dB",
                               "level_deviation_dB"});
      !known)
    return known;
  const auto name = table.words("name");
  if (!name) return name.error();
  if (*name) limits.name = **name;
  const auto jumps = table.truth("jumps_allowed");
  if (!jumps) return jumps.error();
  if (*jumps) limits.jumps_allowed = **jumps;
  for (const auto& count : counts)
    if (auto taken = take(table, count, limits); !taken) return taken;
  for (const auto& figure : figures)
    if (auto taken = take(table, figure, limits); !taken) return taken;
  return Done{};
}

/// A text in TOML's quotes, with what would end or break it escaped.
std::string toml_text(std::string_view text) {
  std::string out(1, '"');
  for (const char c : text) {
    const auto code = static_cast<unsigned>(static_cast<unsigned char>(c));
    if (code < 0x20 || code == 0x7F) {
      out += fmt::format("\\u{:04X}", code);
      continue;
    }
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  out += '"';
  return out;
}

template <class Value>
std::string shown(const std::optional<Value>& value) {
  return value ? fmt::format("{}", *value) : toml_text("not judged");
}

std::string line(const char* key, const std::string& value, const char* remark) {
  return fmt::format("{:<38} # {}\n", fmt::format("{} = {}", key, value), remark);
}

}  // namespace

std::span<const std::string_view> limit_formats() {
  return formats;
}

works::Limits built_in_limits(std::string_view format) {
  if (!is_format(format)) return vinyl("custom");
  const bool coarse = format.ends_with("-78") || format.ends_with("-77.92");
  return coarse ? shellac(format) : vinyl(format);
}

Result<works::Limits> limits_from_toml(std::string_view text,
                                       const std::string& shown_name,
                                       std::string_view format) {
  const auto document = TomlTable::parse(text, shown_name);
  if (!document) return document.error();
  Limits limits = built_in_limits(format);
  const auto all = document->table("limits");
  if (!all) return all.error();
  if (!*all) return limits;

  for (const auto& key : (*all)->keys()) {
    if (key != "default" && !is_format(key))
      return (*all)->refuse(
          key, fmt::format("not a format; write default, {}", fmt::join(formats, ", ")));
    // Every table is read, so that a slip is found before the day when its format is heard.
    const auto table = (*all)->table(key);
    if (!table) return table.error();
    Limits tried;
    if (auto taken = take_table(**table, tried); !taken) return taken.error();
  }
  limits.name =
      fmt::format("{} of {}", format, std::filesystem::path{shown_name}.filename().string());
  for (const std::string& key : {std::string{"default"}, std::string{format}}) {
    const auto table = (*all)->table(key);
    if (!table) return table.error();
    if (!*table) continue;
    if (auto taken = take_table(**table, limits); !taken) return taken.error();
  }
  return limits;
}

Result<works::Limits> read_limits(const std::string& path, std::string_view format) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return limits_from_toml(*text, path, format);
}

std::string limits_toml(const works::Limits& limits, std::string_view format) {
  std::string text =
      fmt::format("[limits.{}]\nname = {}\n", toml_text(format), toml_text(limits.name));
  for (const auto& count : counts)
    text += line(count.key, shown(limits.*count.field), count.remark);
  if (limits.jumps_allowed)
    text += line("jumps_allowed", shown(limits.jumps_allowed), "skips, repeats, a locked groove");
  for (const auto& figure : figures)
    text += line(figure.key, shown(limits.*figure.field), figure.remark);
  return text;
}

std::string default_limits_toml() {
  std::string text =
      "# What passes where a works has said nothing. Where no source stands beside a figure it is "
      "common\n"
      "# practice, no source: set your own. \"not judged\" takes a limit away. SI units, dB, plain "
      "fractions.\n";
  for (const auto format : formats) {
    text += '\n';
    text += limits_toml(built_in_limits(format), format);
  }
  return text;
}

}  // namespace goodside::intake
