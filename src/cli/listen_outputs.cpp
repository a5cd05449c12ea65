#include "cli/listen_outputs.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <set>
#include <system_error>
#include <utility>

#include "cli/summary.hpp"
#include "draw/levels_plot.hpp"
#include "draw/wow_plot.hpp"
#include "intake/safe_file.hpp"
#include "json/listening_report.hpp"

namespace goodside::cli {
namespace {

namespace fs = std::filesystem;

bool is_folder(const std::string& path) {
  std::error_code ignored;
  return path.ends_with('/') || fs::is_directory(path, ignored);
}

Error refusal(const char* option, const std::string& text) {
  return {Fault::bad_input, fmt::format("{}: {}", option, text)};
}

/// The file of one capture that `path`, a file or a folder, stands for.
std::string file_for(const std::string& path, const std::string& capture, const char* ending) {
  if (path.empty() || path == "-" || !is_folder(path)) return path;
  return (fs::path{path} / fs::path{capture}.stem()).string() + ending;
}

Outcome check_target(const char* option, const std::string& path, const ListenRequest& request) {
  if (path.empty()) return Done{};
  const bool several = request.captures.size() > 1;
  if (several && (path == "-" || !is_folder(path)))
    return refusal(option,
                   fmt::format("{} takes one capture; for {} of them name a folder, as in reports/",
                               path == "-" ? "standard output" : path,
                               request.captures.size()));
  if (path == "-") return Done{};
  const fs::path folder = is_folder(path) ? fs::path{path} : fs::path{path}.parent_path();
  std::error_code ignored;
  if (!folder.empty() && !fs::is_directory(folder, ignored))
    return refusal(option, fmt::format("there is no folder {}; make it first", folder.string()));
  return Done{};
}

Result<draw::PictureFormat> finder_format(const std::string& path) {
  if (path.empty() || path.ends_with(".pdf")) return draw::PictureFormat::pdf;
  if (path.ends_with(".svg")) return draw::PictureFormat::svg;
  return refusal(
      "--finder",
      fmt::format("{} ends with neither .pdf nor .svg, which print at 1:1; name it so", path));
}

Outcome check_page_name(const std::string& path) {
  if (path.empty() || path.ends_with(".html")) return Done{};
  return refusal("--report", fmt::format("{} does not end with .html; name it so", path));
}

/// An output that is a capture or the reference would destroy what is to be heard.
Outcome check_overwrite(const char* option, const std::string& path, const ListenRequest& request) {
  if (path.empty() || path == "-") return Done{};
  std::vector<std::string> inputs = request.captures;
  inputs.insert(inputs.end(), request.peers.begin(), request.peers.end());
  if (!request.reference.empty()) inputs.push_back(request.reference);
  for (const std::string& input : inputs) {
    std::error_code ignored;
    if (path == input || fs::equivalent(path, input, ignored))
      return refusal(
          option,
          fmt::format("{} would be written over the recording {}; name another file", path, input));
  }
  return Done{};
}

/// The consensus goes to a WAV of its own.
Outcome check_saved(const ListenRequest& request) {
  const std::string& path = request.save_reference;
  if (path.empty()) return Done{};
  if (!path.ends_with(".wav") || is_folder(path))
    return refusal("--save-reference",
                   fmt::format("{} is no file that ends in .wav; name it so", path));
  std::error_code ignored;
  const fs::path folder = fs::path{path}.parent_path();
  if (!folder.empty() && !fs::is_directory(folder, ignored))
    return refusal("--save-reference",
                   fmt::format("there is no folder {}; make it first", folder.string()));
  return check_overwrite("--save-reference", path, request);
}

Result<std::string> picture(const works::ListeningReport& report,
                            const Outputs& outputs,
                            const ListenRequest& request) {
  draw::PortraitOptions portrait = request.portrait;
  portrait.format = outputs.format;
  const draw::PlotOptions plot{.format = outputs.format,
                               .dark = portrait.dark,
                               .limits = request.options.limits,
                               .title = portrait.title,
                               .date = portrait.date};
  switch (request.show) {
    case Show::wow:
      return draw::wow_plot(report, plot);
    case Show::levels:
      return draw::levels_plot(report, plot);
    case Show::portrait:
      break;
  }
  return draw::portrait(report, portrait);
}

Result<std::string> page(const works::ListeningReport& report,
                         const ListenRequest& request,
                         std::vector<draw::FaultSound> sounds) {
  const auto& portrait = request.portrait;
  return draw::report_page(report,
                           {.view = portrait.view,
                            .shrinkage = portrait.shrinkage,
                            .landmark_angle_deg = portrait.landmark_angle_deg,
                            .landmark = portrait.landmark,
                            .limits = request.options.limits,
                            .title = portrait.title,
                            .date = portrait.date,
                            .next = next_act(report) + ".",
                            .sounds = std::move(sounds)});
}

Result<std::string> finder(const works::ListeningReport& report,
                           const Outputs& outputs,
                           const ListenRequest& request) {
  const auto& portrait = request.portrait;
  return draw::finder_sheet(report,
                            {.view = portrait.view,
                             .format = outputs.finder_format,
                             .paper = request.paper,
                             .shrinkage = portrait.shrinkage,
                             .landmark_angle_deg = portrait.landmark_angle_deg,
                             .landmark = portrait.landmark,
                             .title = portrait.title,
                             .date = portrait.date});
}

}  // namespace

Result<draw::PictureFormat> picture_format(const std::string& path) {
  if (path.empty() || path.ends_with(".png")) return draw::PictureFormat::png;
  if (path.ends_with(".svg")) return draw::PictureFormat::svg;
  if (path.ends_with(".pdf")) return draw::PictureFormat::pdf;
  return refusal("--picture",
                 fmt::format("{} ends with none of .png, .svg and .pdf; name it so", path));
}

Result<std::vector<Outputs>> plan_outputs(const ListenRequest& request) {
  for (const auto& checked : {check_target("--json", request.json, request),
                              check_target("--picture", request.picture, request),
                              check_saved(request),
                              check_target("--report", request.report, request),
                              check_target("--finder", request.finder, request)})
    if (!checked) return checked.error();
  if (request.picture == "-")
    return refusal("--picture", "a picture goes into a file; name one, as in side.png");
  if (request.report == "-")
    return refusal("--report", "a page goes into a file; name one, as in side.html");
  if (request.finder == "-")
    return refusal("--finder", "a print goes into a file; name one, as in finder.pdf");
  std::vector<Outputs> all;
  std::set<std::string> taken;
  for (const std::string& capture : request.captures) {
    Outputs outputs{.json = file_for(request.json, capture, ".json"),
                    .picture = file_for(request.picture, capture, ".png"),
                    .report = file_for(request.report, capture, ".html"),
                    .finder = file_for(request.finder, capture, ".pdf")};
    const auto format = picture_format(outputs.picture);
    if (!format) return format.error();
    outputs.format = *format;
    const auto print = finder_format(outputs.finder);
    if (!print) return print.error();
    outputs.finder_format = *print;
    if (const auto named = check_page_name(outputs.report); !named) return named.error();
    for (const auto& [option, path] : {std::pair{"--json", outputs.json},
                                       {"--picture", outputs.picture},
                                       {"--report", outputs.report},
                                       {"--finder", outputs.finder}}) {
      if (const auto checked = check_overwrite(option, path, request); !checked)
        return checked.error();
      if (!path.empty() && !taken.insert(path).second)
        return refusal(
            option,
            fmt::format("{} would be written twice; give the captures different names", path));
    }
    all.push_back(std::move(outputs));
  }
  return all;
}

Result<std::string> plan_plays(ListenRequest& request) {
  if (request.json.empty() || request.json == "-") return std::exchange(request.json, "");
  if (is_folder(request.json)) {
    for (const std::string& capture : request.captures)
      if (fs::path{capture}.stem() == "plays")
        return refusal("--json",
                       fmt::format("{} and the plays together would be written to one plays.json; "
                                   "rename the capture",
                                   capture));
    return (fs::path{request.json} / "plays.json").string();
  }
  const std::string file = std::exchange(request.json, "");
  ListenRequest alone = request;
  alone.captures.resize(1);
  if (const auto checked = check_target("--json", file, alone); !checked) return checked.error();
  if (const auto checked = check_overwrite("--json", file, request); !checked)
    return checked.error();
  return file;
}

Outcome save(const works::ListeningReport& report,
             const Outputs& outputs,
             const ListenRequest& request,
             std::vector<draw::FaultSound> sounds) {
  // Everything is drawn before anything is written, and written before anything takes its name.
  std::vector<intake::FileBytes> files;
  const auto add = [&](const std::string& path, const auto& draw) -> Outcome {
    if (path.empty()) return Done{};
    auto drawn = draw();
    if (!drawn) return drawn.error();
    files.emplace_back(path, std::move(*drawn));
    return Done{};
  };
  for (const auto& drawn :
       {add(outputs.picture, [&] { return picture(report, outputs, request); }),
        add(outputs.report, [&] { return page(report, request, std::move(sounds)); }),
        add(outputs.finder, [&] { return finder(report, outputs, request); })})
    if (!drawn) return drawn.error();
  if (!outputs.json.empty() && outputs.json != "-")
    files.emplace_back(outputs.json, json::write(report));
  return intake::write_together(files);
}

}  // namespace goodside::cli
