#include "line/random_history.hpp"

namespace goodside::line {
namespace {

class LongHistory : public test::RandomHistory {};
FOR_BOTH_STORES(LongHistory);

TEST_P(LongHistory, NeverBreaksTheLedger) {
  live(7, 2000);
}

}  // namespace
}  // namespace goodside::line
