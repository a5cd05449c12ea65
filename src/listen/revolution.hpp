#pragma once
#include <optional>
#include <string>
#include <vector>

#include "works/listening_report.hpp"

namespace goodside::listen {

/// What a capture alone holds that may recur with the turn; all in capture time from 0.
struct TurnHeard {
  double cell_s{};                 ///< about 5 ms
  std::vector<float> left, right;  ///< energy above 300 Hz, by cell
  std::vector<float> vertical;     ///< of (left - right)/2, by cell
  double frame_s{};                ///< about 10 ms
  std::vector<float> tonal;  ///< by frame: mean of ln(mean of nine bins) - ln(bin), 300 to 5000 Hz
  double slow_rate_Hz{};     ///< 20 Hz and more
  std::vector<float> slow;   ///< (left - right)/2 below 20 Hz
  std::vector<double> ticks_s;  ///< in order
};

struct TurnSetting {
  double least_turns{4.0};  ///< of surface free of programme; three turns can carry a repeat too
  double sure_chance{1e-3};
};

struct TurnFound {
  std::optional<works::Turn> turn;
  std::string why;  ///< why there is none
};

/// Whether something recurs once a turn, 30 to 85 rpm, by four roads; each chance holds for the whole search:
///     repeat   autocorrelation of the log energies in cells, ranked to a normal spread, whitened, lines
///              clipped; z(P) = (r(P) + .. + r(kP))/sqrt k, k <= 3, of pairs both free of programme, in units of
///              its own spread;  chance = trials Q(z)
///     swing    noise level, and `warp`: (left - right)/2 under 8 Hz. Line at f against n bins beside it:
///              p_h = (1 + P/(n B))^-n (F with 2 and 2n degrees of freedom), Hann windows of 32 turns;
///              -sum ln p over windows and harmonics 1, or 1 .. 4, is gamma distributed
///     ticks    H = max_m (Z_m^2 - 4m + 4), m <= 20; p = exp(-0.4 H): de Jager, Raubenheimer and Swanepoel,
///              Astron. Astrophys. 221 (1989) 180; de Jager and Buesching, 517 (2010) L9 (from memory)
/// Programme keeps time too. Free of it counts a second that is within 10 dB of the quietest (medians of its cells),
/// whose vertical energy is over -5 dB re lateral (noise of two walls is independent but for the pickup's crosstalk)
/// and whose spectrum is as even as noise is: median `tonal` under 0.42; two-channel noise has 0.25, eleven
/// real LP surfaces 0.21 to 0.45, three real programmes 0.74 to 1.77 in the middle. What
/// also recurs at a fraction of the period, P/2 .. P/8, is a rhythm and is not told.
/// Source:   own method but for the H test. Valid: stereo captures. Untuned percussion alone, as quiet as the quietest and far to the sides,
/// passes for surface. Accuracy: docs/listening_alone.md.
[[nodiscard]] TurnFound find_turn(const TurnHeard& heard, const TurnSetting& setting = {});

/// Cells in seconds that are free of programme, 1 or 0; for tests.
[[nodiscard]] std::vector<char> surface_cells(const TurnHeard& heard);

}  // namespace goodside::listen
