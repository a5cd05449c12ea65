#include "draw/words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <tuple>

namespace goodside::draw {

using works::FaultKind;
using works::PatternKind;

std::string_view word(FaultKind kind) {
  switch (kind) {
    case FaultKind::tick:
      return "tick";
    case FaultKind::pop:
      return "pop";
    case FaultKind::burst:
      return "burst";
    case FaultKind::dropout:
      return "dropout";
    case FaultKind::jump:
      return "jump";
    case FaultKind::repeat:
      return "repeat";
    case FaultKind::clip:
      return "clip";
  }
  return "fault";
}

std::string_view word(PatternKind kind) {
  switch (kind) {
    case PatternKind::radial:
      return "radial";
    case PatternKind::arc:
      return "arc";
    case PatternKind::patch:
      return "patch";
    case PatternKind::scatter:
      return "scatter";
    case PatternKind::echo:
      return "echo";
  }
  return "pattern";
}

std::string_view word(works::FaultChannel channel) {
  switch (channel) {
    case works::FaultChannel::left:
      return "left";
    case works::FaultChannel::right:
      return "right";
    case works::FaultChannel::both:
      break;
  }
  return "both";
}

std::string_view word(works::Plane plane) {
  switch (plane) {
    case works::Plane::lateral:
      return "lateral";
    case works::Plane::vertical:
      return "vertical";
    case works::Plane::mixed:
      break;
  }
  return "mixed";
}

std::string_view word(works::Audibility audibility) {
  switch (audibility) {
    case works::Audibility::plain:
      return "plain";
    case works::Audibility::slight:
      return "slight";
    case works::Audibility::masked:
      break;
  }
  return "masked";
}

std::string_view word(works::Nature nature) {
  switch (nature) {
    case works::Nature::non_fill:
      return "non-fill";
    case works::Nature::dirt:
      return "dirt";
  }
  return "not told";
}

std::string clock_ms(double time_s) {
  const auto total_ms = std::llround(std::abs(time_s) * 1e3);
  return fmt::format("{}{}:{:02}.{:03}",
                     time_s < 0.0 && total_ms > 0 ? "-" : "",
                     total_ms / 60000,
                     total_ms / 1000 % 60,
                     total_ms % 1000);
}

std::string clock_s(double time_s) {
  const auto total_s = std::llround(std::abs(time_s));
  return fmt::format(
      "{}{}:{:02}", time_s < 0.0 && total_s > 0 ? "-" : "", total_s / 60, total_s % 60);
}

std::string closings(double count) {
  if (!(count > 0.0)) return "0";
  const double step = std::max(1.0, std::pow(10.0, std::floor(std::log10(count)) - 1.0));
  return fmt::format("{:.0f}", std::round(count / step) * step);
}

std::string clock_tenths(double time_s) {
  const auto tenths = std::llround(std::abs(time_s) * 10.0);
  return fmt::format("{}{}:{:02}.{}",
                     time_s < 0.0 && tenths > 0 ? "-" : "",
                     tenths / 600,
                     tenths / 10 % 60,
                     tenths % 10);
}

std::string degrees(double angle_deg) {
  const double whole = std::fmod(std::round(angle_deg), 360.0);
  return fmt::format("{:.0f}°", whole < 0.0 ? whole + 360.0 : std::abs(whole));
}

Standing standing(const works::ListeningReport& report) {
  if (report.alignment && !report.alignment->found) return Standing::not_this_cut;
  if (!report.alignment && report.verdict.reasons.empty()) return Standing::unjudged;
  return report.verdict.pass ? Standing::good : Standing::out;
}

std::string_view word(Standing standing) {
  switch (standing) {
    case Standing::good:
      return "Within limits";
    case Standing::out:
      return "Outside limits";
    case Standing::not_this_cut:
      return "Not this cut";
    case Standing::unjudged:
      return "Heard without its cut";
  }
  return "Not known";
}

std::string file_name(std::string_view path) {
  const auto slash = path.find_last_of('/');
  return std::string{slash == std::string_view::npos ? path : path.substr(slash + 1)};
}

std::vector<std::size_t> worst_first(const std::vector<works::FaultEvent>& faults) {
  std::vector<std::size_t> order(faults.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const auto rank = [&](std::size_t i) {
    const auto& fault = faults[i];
    const bool leaves_the_groove = fault.kind == FaultKind::jump || fault.kind == FaultKind::repeat;
    return std::tuple{!leaves_the_groove, fault.audibility, -fault.peak_dB, fault.capture_s};
  };
  std::stable_sort(
      order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return rank(a) < rank(b); });
  return order;
}

}  // namespace goodside::draw
