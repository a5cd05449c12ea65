#include "line/heard_through.hpp"

#include <utility>

#include "disc/equalised_source.hpp"

namespace goodside::line {

Result<std::unique_ptr<signal::SampleSource>> heard_through(
    const signal::SampleSource& recorded, const std::optional<disc::Curve>& curve) {
  auto source = recorded.again();
  if (!source || !curve || disc::is_flat(*curve)) return source;
  return std::unique_ptr<signal::SampleSource>{
      std::make_unique<disc::EqualisedSource>(std::move(*source), *curve)};
}

}  // namespace goodside::line
