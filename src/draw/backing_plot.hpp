#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "draw/plot_frame.hpp"
#include "works/backing.hpp"

namespace goodside::draw {

/// A backed stamper from its side, the bow drawn larger than it is, cold and in the press; and every solder's range of
/// melting against the press's hottest moment and the margin asked for.
Result<std::string> backing_plot(const works::BackingReport&, const PlotOptions&);
/// A bare back's thickness: every reading where it was taken, thick in orange and thin in blue, sized by how far off,
/// and the wedge as an arrow. Errors: as backing_plot; Fault::bad_input for a report without a map.
Result<std::string> thickness_plot(const works::BareBackReport&, const PlotOptions&);
/// Where its texts stand.
Result<std::vector<PlacedText>> backing_plot_texts(const works::BackingReport&, const PlotOptions&);

}  // namespace goodside::draw
