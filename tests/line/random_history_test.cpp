#include "line/random_history.hpp"

namespace goodside::line {
namespace {

class RandomHistory : public test::RandomHistory {};
FOR_BOTH_STORES(RandomHistory);

TEST_P(RandomHistory, NeverBreaksTheLedger) {
  live(20261126, 160);
}

}  // namespace
}  // namespace goodside::line
