#pragma once
#include <string>
#include <vector>

#include "works/limits.hpp"
#include "works/listening_report.hpp"

namespace goodside::listen {

struct Judgement {
  works::Verdict verdict;
  std::vector<std::string> remarks;  ///< limits that could not be applied, and why
};

/// Holds a report against the limits of the works. Each broken limit is one reason: rule (the
/// limit's own name, or "alignment"), value, limit and a plain sentence with units and place; a
/// value equal to its limit passes. The worst comes first: a cut that was not found, then jumps,
/// then by how many dB (20 log10 of the ratio for plain figures) the limit is overrun, equal ones
/// in the order of `Limits`. A cut that was not found (value 0, limit 1) is the only reason given,
/// since nothing else was measured against the right thing. A measure that is null is not judged;
/// where a limit asks for it a remark says so, with the reason from `undetermined`. Third-octave
/// levels are judged after each channel's own mean from 250 Hz to 9 kHz is taken off, so that
/// playback gain and balance do not count as loss of tone. A capture heard without any reference has levels re its
/// own full scale: faults and patterns are judged, and one remark names the limits that are not. Reads everything of `report` but its
/// verdict and remarks.
[[nodiscard]] Judgement judge(const works::ListeningReport& report, const works::Limits& limits);

}  // namespace goodside::listen
