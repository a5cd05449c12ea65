#include "listen/verdict_words.hpp"

#include <fmt/format.h>

#include <cmath>

namespace goodside::listen {

std::string clock_time(double time_s) {
  const auto thousandths = std::llround(std::abs(time_s) * 1000.0);
  return fmt::format("{}{}:{:02}.{:03}",
                     time_s < 0.0 && thousandths > 0 ? "-" : "",
                     thousandths / 60'000,
                     thousandths / 1000 % 60,
                     thousandths % 1000);
}

std::string place_of(const works::FaultEvent& fault) {
  std::string place = fault.programme_s
                          ? clock_time(*fault.programme_s)
                          : fmt::format("{} of the capture", clock_time(fault.capture_s));
  if (fault.radius_m) place += fmt::format(", {:.1f} mm from the centre", *fault.radius_m * 1000.0);
  return place;
}

std::string_view name_of(works::FaultKind kind) {
  using works::FaultKind;
  switch (kind) {
    case FaultKind::tick:
      return "tick";
    case FaultKind::pop:
      return "pop";
    case FaultKind::burst:
      return "burst of noise";
    case FaultKind::dropout:
      return "dropout";
    case FaultKind::jump:
      return "jump";
    case FaultKind::repeat:
      return "repeat";
    case FaultKind::clip:
      return "clipped passage";
  }
  return "fault";
}

std::string counted(int count, std::string_view singular, std::string_view plural) {
  return fmt::format("{} {}", count, count == 1 ? singular : plural);
}

}  // namespace goodside::listen
