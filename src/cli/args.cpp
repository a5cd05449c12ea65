#include "cli/args.hpp"

#include "base/expects.hpp"

namespace goodside::cli {

const Args::Given& Args::find(std::string_view name) const {
  const auto found = given_.find(name);
  EXPECTS(found != given_.end());
  return found->second;
}

bool Args::given(std::string_view name) const {
  return !find(name).words.empty();
}

const std::string& Args::text(std::string_view name) const {
  const Given& option = find(name);
  return option.words.empty() ? option.fallback : option.words.back();
}

const std::vector<std::string>& Args::all(std::string_view name) const {
  return find(name).words;
}

Error Args::named(std::string_view name, const Error& error) {
  return {error.fault, std::string{name} + ": " + error.text};
}

}  // namespace goodside::cli
