#include "intake/dispatch_settings.hpp"

#include "intake/safe_file.hpp"
#include "intake/toml_table.hpp"
#include "units/read.hpp"

namespace goodside::intake {

Result<DispatchSettings> dispatch_settings_from_toml(std::string_view text,
                                                     const std::string& shown_name) {
  const auto document = TomlTable::parse(text, shown_name);
  if (!document) return document.error();
  const auto table = document->table("dispatch");
  if (!table) return table.error();
  DispatchSettings settings;
  if (!*table) return settings;
  if (const auto known = (*table)->only({"gs1_prefix", "lifting_limit", "pallet", "address"});
      !known)
    return known.error();
  struct Text {
    const char* key;
    std::optional<std::string>* into;
  };
  std::optional<std::string> limit;
  for (const Text& one : {Text{"gs1_prefix", &settings.gs1_prefix},
                          Text{"lifting_limit", &limit},
                          Text{"pallet", &settings.pallet},
                          Text{"address", &settings.address}}) {
    const auto words = (*table)->words(one.key);
    if (!words) return words.error();
    *one.into = *words;
  }
  if (limit) {
    const auto mass_kg = units::mass_kg(*limit);
    if (!mass_kg) return (*table)->refuse("lifting_limit", mass_kg.error().text);
    settings.lifting_limit_kg = *mass_kg;
  }
  return settings;
}

Result<DispatchSettings> read_dispatch_settings(const std::string& path) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return dispatch_settings_from_toml(*text, path);
}

std::string default_dispatch_toml() {
  return R"(# How this works packs and ships: take the # away before [dispatch] and before what is yours.
[dispatch]
gs1_prefix = "…"             # company prefix got from GS1; without one, plain numbers are used
lifting_limit = "12 kg"      # of a full carton that one person lifts
pallet = "1200x800"          # mm
address = "…"                # of the sender, as on papers
)";
}

}  // namespace goodside::intake
