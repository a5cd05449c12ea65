#include "listen/classify.hpp"

#include "base/expects.hpp"

namespace goodside::listen {
namespace {

using works::FaultChannel;
using works::FaultKind;
using works::Plane;

FaultKind kind_of(const EventFeatures& event, const ClassLines& lines) {
  if (event.capture_peak_fs >= lines.clip_peak && event.share_at_full_scale >= lines.clip_share)
    return FaultKind::clip;
  if (event.duration_s >= lines.dropout_s && event.level_change_dB <= lines.dropout_dB &&
      event.prediction_correlation >= lines.dropout_correlation)
    return FaultKind::dropout;
  if (event.low_share > lines.low_share) return FaultKind::pop;
  const bool lasting =
      event.duration_s > lines.burst_s && event.burst_kurtosis <= lines.burst_kurtosis;
  return lasting ? FaultKind::burst : FaultKind::tick;
}

}  // namespace

FaultClass classify(const EventFeatures& event, const ClassLines& lines) {
  const auto [left, right] = event.channel_energy;
  EXPECTS(event.duration_s >= 0.0 && left >= 0.0 && right >= 0.0);
  FaultClass result{kind_of(event, lines), FaultChannel::both, Plane::mixed};
  if (left > lines.one_wall * right) result.channel = FaultChannel::left;
  if (right > lines.one_wall * left) result.channel = FaultChannel::right;
  if (event.lateral_energy > lines.one_plane * event.vertical_energy) result.plane = Plane::lateral;
  if (event.vertical_energy > lines.one_plane * event.lateral_energy)
    result.plane = Plane::vertical;
  return result;
}

}  // namespace goodside::listen
