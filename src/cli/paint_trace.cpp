#include "cli/paint_trace.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <utility>
#include <vector>

#include "cli/listen_outputs.hpp"
#include "draw/contact_sheet.hpp"
#include "draw/family_tree.hpp"
#include "draw/impression_strip.hpp"
#include "intake/safe_file.hpp"

namespace goodside::cli {
namespace {

constexpr std::size_t most_faults = 8;

struct Picture {
  std::string path, bytes;
};

std::string beside(const std::string& path, std::size_t number, std::string_view what) {
  std::filesystem::path name{path};
  const std::string ending = name.extension().string();
  std::string stem = name.replace_extension().string();
  if (number > 1) stem += fmt::format("-{}", number);
  return fmt::format("{}{}{}", stem, what, ending);
}

/// The pictures of one fault. What has nothing to show is no error.
Outcome draw_fault(const line::TracedFamily& traced,
                   std::size_t number,
                   const std::string& path,
                   const draw::TracePictureOptions& options,
                   std::vector<Picture>& pictures) {
  const auto& fault = traced.trace.recurring[number - 1];
  using Draw = decltype(&draw::family_tree);
  const std::array<std::pair<Draw, std::string_view>, 3> kinds{
      {{draw::family_tree, ""},
       {draw::impression_strip, "-impressions"},
       {draw::contact_sheet, "-discs"}}};
  for (const auto& [draw, what] : kinds) {
    auto drawn = draw(traced.family, fault, traced.plays, options);
    if (drawn)
      pictures.push_back({beside(path, number, what), *std::move(drawn)});
    else if (drawn.error().fault != Fault::bad_input)
      return drawn.error();
  }
  return Done{};
}

}  // namespace

Outcome paint_trace(const line::TracedFamily& traced, const std::string& path) {
  const auto format = picture_format(path);
  if (!format) return format.error();
  const draw::TracePictureOptions options{.format = *format};
  std::vector<Picture> pictures;
  const std::size_t count = std::min(most_faults, traced.trace.recurring.size());
  for (std::size_t number = 1; number <= count; ++number)
    if (const auto drawn = draw_fault(traced, number, path, options, pictures); !drawn)
      return drawn.error();
  for (const auto& picture : pictures)
    if (const auto written = intake::write_whole(picture.path, picture.bytes); !written)
      return written.error();
  return Done{};
}

}  // namespace goodside::cli
