#include "cli/listen_outputs.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <set>
#include <system_error>

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

Result<draw::PictureFormat> picture_format(const std::string& path) {
  if (path.empty() || path.ends_with(".png")) return draw::PictureFormat::png;
  if (path.ends_with(".svg")) return draw::PictureFormat::svg;
  if (path.ends_with(".pdf")) return draw::PictureFormat::pdf;
  return refusal("--picture",
                 fmt::format("{} ends with none of .png, .svg and .pdf; name it so", path));
}

/// An output that is a capture or the reference would destroy what is to be heard.
Outcome check_overwrite(const char* option, const std::string& path, const ListenRequest& request) {
  if (path.empty() || path == "-") return Done{};
  std::vector<std::string> inputs = request.captures;
  inputs.push_back(request.reference);
  for (const std::string& input : inputs) {
    std::error_code ignored;
    if (path == input || fs::equivalent(path, input, ignored))
      return refusal(
          option,
          fmt::format("{} would be written over the recording {}; name another file", path, input));
  }
  return Done{};
}

}  // namespace

Result<std::vector<Outputs>> plan_outputs(const ListenRequest& request) {
  for (const auto& checked : {check_target("--json", request.json, request),
                              check_target("--picture", request.picture, request)})
    if (!checked) return checked.error();
  if (request.picture == "-")
    return refusal("--picture", "a picture goes into a file; name one, as in side.png");
  std::vector<Outputs> all;
  std::set<std::string> taken;
  for (const std::string& capture : request.captures) {
    Outputs outputs{.json = file_for(request.json, capture, ".json"),
                    .picture = file_for(request.picture, capture, ".png")};
    const auto format = picture_format(outputs.picture);
    if (!format) return format.error();
    outputs.format = *format;
    for (const auto& [option, path] :
         {std::pair{"--json", outputs.json}, {"--picture", outputs.picture}}) {
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

Outcome save(const works::ListeningReport& report,
             const Outputs& outputs,
             const draw::PortraitOptions& portrait_options) {
  std::string picture;
  if (!outputs.picture.empty()) {
    draw::PortraitOptions options = portrait_options;
    options.format = outputs.format;
    auto drawn = draw::portrait(report, options);
    if (!drawn) return drawn.error();
    picture = std::move(*drawn);
  }
  if (!outputs.json.empty() && outputs.json != "-")
    if (const auto written = intake::write_whole(outputs.json, json::write(report)); !written)
      return written.error();
  if (!picture.empty()) return intake::write_whole(outputs.picture, picture);
  return Done{};
}

}  // namespace goodside::cli
