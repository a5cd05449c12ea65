#pragma once
#include <functional>
#include <string>

#include "base/result.hpp"

namespace goodside::serve {

/// What `goodside serve` was asked for.
struct Setting {
  std::string works;  ///< folder
  std::string address{"127.0.0.1"};
  int port{7833};  ///< 0: any that is free
  std::string certificate{}, key{};
  std::string pages{};  ///< folder of the built pages; empty: where they usually are
  int analyses{2};      ///< at once
};

/// Serves one works folder until the process is asked to end (SIGTERM, SIGINT), and then answers
/// what is being answered. `say` hears what a person at the terminal should know. No thread may run
/// before. Errors: Fault::conflict where the folder or the port is taken; those of the record;
/// Fault::bad_input for an address beyond this computer without TLS or without an account.
Outcome serve(const Setting& setting, const std::function<void(const std::string&)>& say);

}  // namespace goodside::serve
