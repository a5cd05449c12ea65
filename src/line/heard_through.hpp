#pragma once
#include <memory>
#include <optional>
#include <string>

#include "base/result.hpp"
#include "disc/equalisation.hpp"
#include "signal/sample_source.hpp"

namespace goodside::line {

/// A recording as it is to be heard: through the playback curve where it was recorded flat. Errors: the source's.
Result<std::unique_ptr<signal::SampleSource>> heard_through(
    const signal::SampleSource& recorded, const std::optional<disc::Curve>& curve);

/// Opens a recording so. Errors: those of intake::open_audio, naming the file.
Result<std::unique_ptr<signal::SampleSource>> open_heard(const std::string& path,
                                                         const std::optional<disc::Curve>& curve);

}  // namespace goodside::line
