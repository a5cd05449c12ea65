#pragma once
#include <span>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/trace_page.hpp"
#include "works/family.hpp"
#include "works/heard_play.hpp"

namespace goodside::draw {

/// Every disc heard on the fault's side as a small portrait, a row of them for each stamper in the
/// order of their impressions: edge, recorded band, label, every fault a dot at its angle and radius,
/// the recurring fault a triangle; groove that was not heard is grey. What stamper mates share shows
/// without reading. Portraits are as large as one page allows, down to 44 units; then the page grows
/// (PNG, SVG) or more sheets follow (PDF). Discs are drawn as the smallest usual size that holds
/// their faults, time running evenly over the band where a play heard only part of it.
/// Errors: Fault::out_of_range for an option; Fault::bad_input where no disc was heard on the side, or
/// more than 4,000 were; Fault::io.
Result<std::string> contact_sheet(const works::Family&,
                                  const works::RecurringFault&,
                                  std::span<const works::HeardPlay>,
                                  const TracePictureOptions&);
/// Where its texts stand, a list a sheet.
Result<std::vector<std::vector<PlacedText>>> contact_sheet_texts(const works::Family&,
                                                                 const works::RecurringFault&,
                                                                 std::span<const works::HeardPlay>,
                                                                 const TracePictureOptions&);

}  // namespace goodside::draw
