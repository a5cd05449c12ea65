#pragma once
#include <cstddef>
#include <functional>

#include "base/result.hpp"

namespace goodside::listen {

/// Runs `work(worker, piece)` once for each piece 0 .. count-1 on up to `jobs` threads (0: one a
/// core, never more than four: each holds a piece's samples). Which worker takes which piece is
/// left to chance; results belong in a slot of the piece. The first error stops the rest and is
/// returned.
Outcome run_pieces(std::size_t count,
                   int jobs,
                   const std::function<Outcome(std::size_t worker, std::size_t piece)>& work);

/// Threads that run_pieces will use.
std::size_t workers_for(int jobs, std::size_t count);

}  // namespace goodside::listen
