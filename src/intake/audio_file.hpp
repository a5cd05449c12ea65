#pragma once
#include <memory>
#include <string>

#include "base/result.hpp"
#include "signal/sample_source.hpp"
#include "works/listening_report.hpp"

namespace goodside::intake {

/// Opens a recording: WAV, RF64, W64, FLAC and whatever else libsndfile reads with a header; 8 to
/// 192 kHz, one or two channels, integers of any width (full scale is 1) and float.
///
/// The source reads at the file's own rate, skips the seek when reading on, and gives zeros outside
/// the file. Its `read` refuses the first sample that is not a number, infinite or beyond 1000
/// times full scale, naming the place in seconds, and a file that ends or breaks before its header
/// says so.
///
/// Cost:   the header, and for a compressed file the last sample; no pass over the file. A silent
/// file opens:
///         audio_survey.hpp tells.
/// Errors: one line each, with what, where and the mend. Fault::not_found: no such file.
/// Fault::bad_input:
///         a folder, an empty file, not audio, broken off, no samples, more than two channels, a
///         rate outside the range, a plain WAV beyond 4 GiB whose size field wrapped. Fault::io:
///         the system refused.
Result<std::unique_ptr<signal::SampleSource>> open_audio(const std::string& path);

/// The facts that a listening report keeps of a file, its SHA-256 included (one pass over its
/// bytes). Errors: as sha256_of_file.
Result<works::AudioFile> identify(const std::string& path, const signal::SampleSource& source);

}  // namespace goodside::intake
