#pragma once
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace goodside::intake {

/// Writes a whole file compressed [RFC 1952 gzip], without name or time in it: equal bytes give an
/// equal file. Errors: Fault::io; nothing is then left behind.
Outcome write_compressed(const std::string& path, std::string_view bytes);

/// Reads one back, at most `largest_bytes` of content.
/// Errors: Fault::not_found, Fault::io; Fault::bad_input where it is damaged or too large.
Result<std::string> read_compressed(const std::string& path, std::size_t largest_bytes);

}  // namespace goodside::intake
