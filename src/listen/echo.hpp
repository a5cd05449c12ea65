#pragma once
#include <array>
#include <cstddef>
#include <span>
#include <vector>

#include "works/listening_report.hpp"

namespace goodside::listen {

/// One block of the bench's signals at about 8 kHz, mean of left and right, all on the capture's
/// time: sample j of each belongs to the same instant.
struct EchoBlock {
  static constexpr std::size_t shifts = 10;

  std::span<const float> residual, prediction;
  /// The cut read at programme time p, without the player's filter.
  std::span<const float> present;
  /// The same at p + EchoFit::shifts_s(rpm)[i]; zero outside the cut.
  std::array<std::span<const float>, shifts> shifted;
};

struct EchoFound {
  works::Echo echo;
  double lead_sigma_dB{}, lag_sigma_dB{};  ///< of the figure, where there is one
  std::vector<works::Undetermined> undetermined;
};

/// Echo from the neighbouring groove: the programme one turn ahead (lead) or one turn ago (lag),
/// heard under the present one. In each block the residual r is fitted by least squares as
///     r(t) = sum_{|k| <= 2} b_k y(t - k/rate) + sum_i a_i x(p(t) + s_i),   y prediction, x cut,
/// s_i being plus and minus one turn and eight control shifts of 0.83 .. 1.21 turns. All signals
/// are whitened by the residual's own prediction filter of order 8, and tenths of a second weigh
/// by how calm the residual is there. a_i over the player's gain is averaged over the blocks with
/// Huber weights. Its error comes from the scatter of the blocks and grows where the controls,
/// which no groove can cause, scatter more than their own errors.
/// Answer:   dB re the programme; null unless it exceeds 4.5 errors and twice the controls.
/// Source:   own method.
/// Valid:    rate 6 .. 12 kHz, four blocks or more. Echo that is not flat over frequency reads as a
///           mean weighted towards where the programme stands highest over the noise.
/// Accuracy: docs/listening_measures.md, as measured by the tests.
/// Cost:     136 products of the block; 170 bytes kept a block. Merge in capture order.
class EchoFit {
 public:
  /// Programme-time shifts of the streams in `EchoBlock::shifted` [s]; the first is the lead,
  /// +60/rpm, the second the lag, -60/rpm.
  static std::array<double, EchoBlock::shifts> shifts_s(double rpm);

  /// Spans of equal length, 2 .. 20 s; 8 s is meant. Blocks of silence are passed over.
  void take(const EchoBlock& block, double rate_Hz);
  void merge(const EchoFit& later);
  [[nodiscard]] EchoFound finish() const;

 private:
  struct Block {
    std::array<double, EchoBlock::shifts> share{}, variance{};
    double gain{};  // of the player; 0 where the block cannot tell
  };
  std::vector<Block> blocks_;
};

}  // namespace goodside::listen
