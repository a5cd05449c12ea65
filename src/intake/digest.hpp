#pragma once
#include <string>

#include "base/result.hpp"

namespace goodside::intake {

/// SHA-256 [FIPS 180-4] of a file's bytes as 64 lower-case hexadecimal digits, read in blocks of
/// 128 KiB. Errors: Fault::io when the file cannot be opened or read to its end.
Result<std::string> sha256_of_file(const std::string& path);

}  // namespace goodside::intake
