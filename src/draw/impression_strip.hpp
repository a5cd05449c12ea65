#pragma once
#include <span>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/trace_page.hpp"
#include "works/family.hpp"
#include "works/heard_play.hpp"

namespace goodside::draw {

/// The impressions of a title from left to right, a lane for each stamper: where it pressed, the
/// discs that were heard (fault heard, heard without it, not heard there), the interval that the
/// onset lies in, the stock that is suspect, and the disc to hear next. A disc known only as a range
/// is a bar with its mark in the middle; discs of unknown impression are counted. With more lanes
/// than fit, those without the fault that the cause has not touched are left out and counted.
/// Errors: Fault::out_of_range for an option; Fault::bad_input where no disc's impression is known;
/// Fault::io.
Result<std::string> impression_strip(const works::Family&,
                                     const works::RecurringFault&,
                                     std::span<const works::HeardPlay>,
                                     const TracePictureOptions&);
/// Where its texts stand.
Result<std::vector<PlacedText>> impression_strip_texts(const works::Family&,
                                                       const works::RecurringFault&,
                                                       std::span<const works::HeardPlay>,
                                                       const TracePictureOptions&);

}  // namespace goodside::draw
