#pragma once
#include "works/listening_report.hpp"

namespace goodside::works {

/// What is known of a recording that was made to be a reference: the contract goodside.reference/1, kept beside it.
struct ReferenceNote {
  Reference reference;
  Interval_s programme;  ///< where the programme lies in it
};

}  // namespace goodside::works
