#pragma once
#include <nlohmann/json_fwd.hpp>

#include "json/cursor.hpp"
#include "works/listening_report.hpp"

namespace goodside::json {

// What goodside.listen/1 and goodside.reference/1 both say of files and of a reference that was itself played.

/// path, sample_rate_Hz, channels, duration_s, sha256.
works::AudioFile read_audio_file(const Cursor&);
nlohmann::ordered_json audio_file_fields(const works::AudioFile&);

/// own_faults [[from_s, to_s] …] and peers [{file, covers, outvoted} …]; absent ones are none.
void read_reference_fields(const Cursor&, works::Reference&);
void add_reference_fields(const works::Reference&, nlohmann::ordered_json&);

/// [[from_s, to_s] …], each in order; null is none.
std::vector<works::Interval_s> read_intervals(const Cursor&);
nlohmann::ordered_json interval_fields(const std::vector<works::Interval_s>&);

}  // namespace goodside::json
