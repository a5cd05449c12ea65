#pragma once
#include "works/listening_report.hpp"

namespace goodside::test {

/// A small report with something in every field.
works::ListeningReport sample_report();

}  // namespace goodside::test
