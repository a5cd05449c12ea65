#pragma once
#include <string>
#include <string_view>

#include "works/listening_report.hpp"

namespace goodside::listen {

/// "1:23.456": minutes, seconds, thousandths; a minus sign before the programme's start.
[[nodiscard]] std::string clock_time(double time_s);

/// "1:23.456, 104.2 mm from the centre"; "0:07.100 of the capture" where the programme time is
/// unknown.
[[nodiscard]] std::string place_of(const works::FaultEvent& fault);

/// "tick", "burst of noise" …
[[nodiscard]] std::string_view name_of(works::FaultKind kind);

/// "1 plain fault", "3 plain faults".
[[nodiscard]] std::string counted(int count, std::string_view singular, std::string_view plural);

}  // namespace goodside::listen
