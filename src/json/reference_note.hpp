#pragma once
#include <cstddef>
#include <string>
#include <string_view>

#include "base/result.hpp"
#include "works/reference_note.hpp"

namespace goodside::json {

/// What is known of a reference recording, as "goodside.reference/1": kind, its file, where the programme lies in it
/// [from_s, to_s], its own faults [[from_s, to_s] …] and, of a consensus, its peers with hashes, what each covers
/// and how many of its events were outvoted. Times in seconds of the reference, to 0.1 us. Equal notes give equal
/// bytes.
std::string write(const works::ReferenceNote&);

inline constexpr std::size_t largest_note_bytes = std::size_t{4} << 20;

/// Reads it again. Errors: as of read_listening_report.
Result<works::ReferenceNote> read_reference_note(std::string_view text);

}  // namespace goodside::json
