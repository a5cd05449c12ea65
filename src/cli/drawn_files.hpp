#pragma once
#include <string>
#include <utility>
#include <vector>

#include "cli/args.hpp"
#include "cli/listen_outputs.hpp"
#include "draw/plot_frame.hpp"
#include "intake/safe_file.hpp"

namespace goodside::cli {

/// Adds the picture that is asked for at `path`, drawn by `draw(report, options)` in the format of its name; nothing where it
/// is empty. Files are gathered so and written together, all or none. Errors: Fault::bad_input for the name,
/// those of the drawing.
template <class Report, class Draw>
Outcome add_picture(std::vector<intake::FileBytes>& files,
                    const std::string& path,
                    const Report& report,
                    Draw draw) {
  if (path.empty()) return Done{};
  const auto format = picture_format(path);
  if (!format) return format.error();
  draw::PlotOptions options;
  options.format = *format;
  auto picture = draw(report, options);
  if (!picture) return picture.error();
  files.push_back({path, std::move(*picture)});
  return Done{};
}

}  // namespace goodside::cli
