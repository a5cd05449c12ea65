#include "line/heard_through.hpp"

#include <utility>

#include "disc/equalised_source.hpp"
#include "intake/audio_file.hpp"

namespace goodside::line {

Result<std::unique_ptr<signal::SampleSource>> heard_through(
    const signal::SampleSource& recorded, const std::optional<disc::Curve>& curve) {
  auto source = recorded.again();
  if (!source || !curve || disc::is_flat(*curve)) return source;
  return std::unique_ptr<signal::SampleSource>{
      std::make_unique<disc::EqualisedSource>(std::move(*source), *curve)};
}

Result<std::unique_ptr<signal::SampleSource>> open_heard(const std::string& path,
                                                         const std::optional<disc::Curve>& curve) {
  const auto recorded = intake::open_audio(path);
  if (!recorded) return recorded.error();
  return heard_through(**recorded, curve);
}

}  // namespace goodside::line
