#pragma once
#include <cctype>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <string_view>

#include "base/result.hpp"

// What every reader owes whatever it is given. libFuzzer calls LLVMFuzzerTestOneInput, one a program.

namespace goodside::fuzz {

/// Ends the run, so that libFuzzer keeps the input.
inline void require(bool holds, const char* what, const std::string& detail = {}) {
  if (holds) return;
  std::fprintf(stderr, "broken promise: %s\n%s\n", what, detail.c_str());
  std::abort();
}

/// A refusal is one line for a person, short enough to read, and never our own fault.
inline void require_clear(const Error& error, std::string_view begins_with = {}) {
  constexpr std::size_t longest_line = 2000;
  require(!error.text.empty(), "a refusal says something");
  require(error.text.find('\n') == std::string::npos, "a refusal is one line", error.text);
  require(error.text.size() < longest_line, "a refusal is short", error.text);
  require(error.text.starts_with(begins_with), "a refusal says where", error.text);
  require(error.fault != Fault::not_converged, "bad input is not our fault", error.text);
}

inline std::string_view text_of(const std::uint8_t* data, std::size_t size) {
  return {reinterpret_cast<const char*>(data), size};
}

}  // namespace goodside::fuzz
