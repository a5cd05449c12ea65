#include "intake/works_folder.hpp"

#include <filesystem>
#include <system_error>

namespace goodside::intake {
namespace {

namespace fs = std::filesystem;

bool is_works_folder(const fs::path& folder) {
  std::error_code problem;
  return fs::is_regular_file(folder / works_file_name, problem);
}

Result<std::optional<std::string>> named(const std::string& folder, const std::string& by) {
  std::error_code problem;
  if (!fs::is_directory(folder, problem))
    return Error{Fault::not_found,
                 by + " names " + folder + ", which is no folder; check the name"};
  if (!is_works_folder(folder))
    return Error{Fault::not_found,
                 by + " names " + folder + ", which holds no " + works_file_name +
                     "; name the works folder"};
  return std::optional{folder};
}

}  // namespace

Result<std::optional<std::string>> find_works_folder(const WorksFolderSearch& search) {
  if (search.asked_for) return named(*search.asked_for, "--in");
  if (search.environment && !search.environment->empty())
    return named(*search.environment, "GOODSIDE_DIR");

  std::error_code problem;
  fs::path folder = fs::absolute(search.from_folder, problem).lexically_normal();
  if (problem) return std::optional<std::string>{};
  while (true) {
    if (is_works_folder(folder)) return std::optional{folder.string()};
    const fs::path above = folder.parent_path();
    if (above == folder) return std::optional<std::string>{};
    folder = above;
  }
}

}  // namespace goodside::intake
