#pragma once
#include <string>

#include "works/backing.hpp"

namespace goodside::cli {

/// Verdict, bow and stress, solders, the caution, and what to do next.
[[nodiscard]] std::string back_text(const works::BackingReport& report, bool colour);
/// The same of a bare back: thickness, texture, forming.
[[nodiscard]] std::string back_text(const works::BareBackReport& report, bool colour);

}  // namespace goodside::cli
