#pragma once
#include <span>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/trace_page.hpp"
#include "works/family.hpp"
#include "works/heard_play.hpp"

namespace goodside::draw {

/// The family from the cut to the mountings, left to right, with the cause of one recurring fault
/// marked: what lies below it is drawn in copper, each part has the share of probability that it did
/// it, stampers and mountings say on how many discs the fault was heard of those heard there. Causes
/// outside the metal stand below. What does not fit is counted, never what may be the cause or has
/// the fault on it.
/// Errors: Fault::out_of_range for an option; Fault::bad_input for a family without parts; Fault::io.
Result<std::string> family_tree(const works::Family&,
                                const works::RecurringFault&,
                                std::span<const works::HeardPlay>,
                                const TracePictureOptions&);
/// Where its texts stand.
Result<std::vector<PlacedText>> family_tree_texts(const works::Family&,
                                                  const works::RecurringFault&,
                                                  std::span<const works::HeardPlay>,
                                                  const TracePictureOptions&);

}  // namespace goodside::draw
