#include "line/instants.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <ctime>

namespace goodside::line {
namespace {

/// The number of exactly `digits` digits that `text` begins with, which goes; -1 where it does not.
int take(std::string_view& text, std::size_t digits) {
  int value = 0;
  if (text.size() < digits || !std::all_of(text.begin(),
                                           text.begin() + static_cast<std::ptrdiff_t>(digits),
                                           [](char c) { return c >= '0' && c <= '9'; }))
    return -1;
  std::from_chars(text.data(), text.data() + digits, value);
  text.remove_prefix(digits);
  return value;
}

bool pass(std::string_view& text, char mark) {
  if (text.empty() || text.front() != mark) return false;
  text.remove_prefix(1);
  return true;
}

std::tm local(std::int64_t utc_ms, bool utc) {
  const std::time_t seconds = utc_ms >= 0 ? utc_ms / 1000 : (utc_ms - 999) / 1000;
  std::tm parts{};
  if (utc)
    gmtime_r(&seconds, &parts);
  else
    localtime_r(&seconds, &parts);
  return parts;
}

}  // namespace

Result<std::int64_t> read_instant(std::string_view text) {
  const Error wrong{Fault::bad_input,
                    fmt::format("\"{}\" is no date; give one such as 2026-11-25 or \"2026-11-25 "
                                "14:30\"",
                                text.substr(0, 40))};
  std::string_view rest = text;
  std::tm parts{};
  const int year = take(rest, 4);
  if (year < 1900 || year > 2999 || !pass(rest, '-')) return wrong;
  const int month = take(rest, 2);
  if (month < 1 || month > 12 || !pass(rest, '-')) return wrong;
  const int day = take(rest, 2);
  constexpr std::array days{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
  if (day < 1 || day > days[static_cast<std::size_t>(month - 1)] + (leap && month == 2 ? 1 : 0))
    return wrong;
  int milliseconds = 0;
  bool utc = false;
  if (!rest.empty()) {
    if (!pass(rest, ' ') && !pass(rest, 'T')) return wrong;
    parts.tm_hour = take(rest, 2);
    if (parts.tm_hour < 0 || parts.tm_hour > 23 || !pass(rest, ':')) return wrong;
    parts.tm_min = take(rest, 2);
    if (parts.tm_min < 0 || parts.tm_min > 59) return wrong;
    if (pass(rest, ':')) {
      parts.tm_sec = take(rest, 2);
      if (parts.tm_sec < 0 || parts.tm_sec > 59) return wrong;
      if (pass(rest, '.') && (milliseconds = take(rest, 3)) < 0) return wrong;
    }
    utc = pass(rest, 'Z');
    if (!rest.empty()) return wrong;
  }
  parts.tm_year = year - 1900;
  parts.tm_mon = month - 1;
  parts.tm_mday = day;
  parts.tm_isdst = -1;
  const std::time_t seconds = utc ? timegm(&parts) : std::mktime(&parts);
  return std::int64_t{seconds} * 1000 + milliseconds;
}

std::int64_t local_s(std::int64_t utc_ms) {
  std::tm parts = local(utc_ms, false);
  return std::int64_t{timegm(&parts)};
}

std::string shown_instant(std::int64_t utc_ms) {
  const std::tm t = local(utc_ms, false);
  return fmt::format("{:04}-{:02}-{:02} {:02}:{:02}",
                     t.tm_year + 1900,
                     t.tm_mon + 1,
                     t.tm_mday,
                     t.tm_hour,
                     t.tm_min);
}

std::string shown_day(std::int64_t utc_ms) {
  return shown_instant(utc_ms).substr(0, 10);
}

std::string utc_instant(std::int64_t utc_ms) {
  const std::tm t = local(utc_ms, true);
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}Z",
                     t.tm_year + 1900,
                     t.tm_mon + 1,
                     t.tm_mday,
                     t.tm_hour,
                     t.tm_min,
                     t.tm_sec,
                     ((utc_ms % 1000) + 1000) % 1000);
}

}  // namespace goodside::line
