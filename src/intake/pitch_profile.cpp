#include "intake/pitch_profile.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <optional>

#include "intake/safe_file.hpp"
#include "units/number.hpp"
#include "units/read.hpp"

namespace goodside::intake {
namespace {

constexpr double lowest_pitch_m = 10e-6, highest_pitch_m = 10e-3;
constexpr double longest_side_s = 1e5;

struct Columns {
  std::string_view time, pitch;
};

std::optional<Columns> split(std::string_view line) {
  const std::size_t place = line.find_first_of(line.find(';') != line.npos ? ";" : ",\t");
  if (place == line.npos) return {};
  const auto rest = line.substr(place + 1);
  if (rest.find_first_of(";,\t") != rest.npos) return {};
  return Columns{units::trimmed(line.substr(0, place)), units::trimmed(rest)};
}

/// A whole cell as a plain number; "nan" and "inf" are none.
std::optional<double> plain_number(std::string_view cell) {
  double value = 0.0;
  const auto [end, code] = std::from_chars(cell.data(), cell.data() + cell.size(), value);
  if (code != std::errc{} || end != cell.data() + cell.size() || !std::isfinite(value)) return {};
  return value;
}

std::optional<double> time_s(std::string_view cell) {
  if (cell.find(':') == cell.npos) return plain_number(cell);
  const auto value = units::duration_s(cell);
  return value ? std::optional{*value} : std::nullopt;
}

/// A heading begins with a letter; "nan" is a broken number, not a heading.
bool is_heading(std::string_view cell) {
  const bool begins_with_letter =
      !cell.empty() && ((cell[0] >= 'a' && cell[0] <= 'z') || (cell[0] >= 'A' && cell[0] <= 'Z'));
  return begins_with_letter && cell != "nan" && cell != "NaN" && cell != "inf";
}

/// Factor from the pitch column to metres, by the unit at the end of its heading.
std::optional<double> factor_to_metres(std::string_view heading) {
  if (heading.ends_with(')') || heading.ends_with(']')) heading.remove_suffix(1);
  const std::size_t before = heading.find_last_of("_ ([");
  const auto unit = before == heading.npos ? std::string_view{} : heading.substr(before + 1);
  constexpr std::array<std::pair<std::string_view, double>, 5> known{
      {{"m", 1.0}, {"mm", 1e-3}, {"um", 1e-6}, {"µm", 1e-6}, {"μm", 1e-6}}};
  for (const auto& [name, factor] : known)
    if (unit == name) return factor;
  return {};
}

/// One line of figures; `before` is the point above it. The Error is the bare sentence.
Result<std::pair<double, double>> point(const Columns& cells,
                                        double to_metres,
                                        const PitchProfile& before) {
  const auto bad = [](std::string what) { return Error{Fault::bad_input, std::move(what)}; };
  const auto time = time_s(cells.time);
  if (!time) return bad("the time is no number; write seconds, or minutes:seconds");
  if (*time < 0.0 || *time > longest_side_s)
    return bad(fmt::format("the time {} s lies outside 0 to {} s", *time, longest_side_s));
  if (!before.empty() && *time <= before.back().first)
    return bad("the time is not later than the one before; sort the lines and drop doubles");
  const auto pitch = plain_number(cells.pitch);
  if (!pitch) return bad("the pitch is no number; write one with a decimal point");
  const double pitch_m = *pitch * to_metres;
  if (!(pitch_m >= lowest_pitch_m && pitch_m <= highest_pitch_m))
    return bad(fmt::format(
        "a pitch of {:.6g} m lies outside 10 um to 10 mm; see to the unit in the heading",
        pitch_m));
  return std::pair{*time, pitch_m};
}

}  // namespace

Result<PitchProfile> pitch_profile_from_csv(std::string_view text, const std::string& shown_name) {
  PitchProfile profile;
  double to_metres = 1.0;
  bool heading_may_come = true;
  constexpr std::string_view byte_order_mark = "\xEF\xBB\xBF";
  if (text.starts_with(byte_order_mark)) text.remove_prefix(byte_order_mark.size());
  for (std::size_t number = 1; !text.empty(); ++number) {
    const auto refuse = [&](const std::string& what) {
      return Error{Fault::bad_input, fmt::format("{}:{}: {}", shown_name, number, what)};
    };
    const std::size_t end = std::min(text.find('\n'), text.size());
    auto line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    if (line.ends_with('\r')) line.remove_suffix(1);
    line = units::trimmed(line);
    if (line.empty() || line.starts_with('#')) continue;

    const auto cells = split(line);
    if (!cells) return refuse("not two columns; write time and pitch, with a comma between");
    if (heading_may_come && is_heading(cells->time)) {
      const auto factor = factor_to_metres(cells->pitch);
      if (!factor)
        return refuse(
            "a heading without a known unit of pitch; write programme_s,pitch_um (or pitch_mm, "
            "pitch_m)");
      to_metres = *factor;
    } else {
      const auto next = point(*cells, to_metres, profile);
      if (!next) return refuse(next.error().text);
      profile.push_back(*next);
    }
    heading_may_come = false;
  }
  if (profile.size() < 2)
    return Error{Fault::bad_input,
                 shown_name + ": fewer than two points; a fixed pitch is given with --pitch"};
  return profile;
}

Result<PitchProfile> read_pitch_profile(const std::string& path) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return pitch_profile_from_csv(*text, path);
}

}  // namespace goodside::intake
