#include "ledger/row.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdint>
#include <random>

#include "ledger/connection.hpp"

namespace goodside::ledger {
namespace {

TEST(Body, IsTheDocumentedText) {
  const std::vector<Change> changes{
      {"part",
       {{"code", "P-1"}, {"face", std::int64_t{2}}, {"note", "a\tb\nc\\d"}, {"gone", {}}},
       0},
      {"batch", {{"code", "B-1"}, {"mass_kg", 0.1}}, 17}};
  EXPECT_EQ(write_body(changes),
            "part\t0\tcode=tP-1\tface=i2\tnote=ta\\tb\\nc\\\\d\n"
            "batch\t17\tcode=tB-1\tmass_kg=d0.1\n");
}

// Property: read ∘ write is identity, for any text and number.
TEST(Body, IsReadAsItWasWritten) {
  std::mt19937_64 random{4};
  for (int trial = 0; trial < 200; ++trial) {
    std::vector<Change> changes;
    for (int i = 0; i < 5; ++i) {
      Change change{"part", {}, static_cast<std::int64_t>(random() % 1000)};
      std::string text;
      for (int k = 0; k < 20; ++k) text += "\\\t\nabc=tid é"[random() % 11];
      change.row["text"] = text;
      change.row["whole"] = static_cast<std::int64_t>(random());
      const auto mantissa = static_cast<double>(static_cast<std::int64_t>(random()));
      change.row["number"] = std::ldexp(mantissa, static_cast<int>(random() % 600) - 300);
      change.row["bytes"] = Bytes{static_cast<std::byte>(random() & 255), std::byte{0}};
      changes.push_back(std::move(change));
    }
    EXPECT_EQ(read_body(write_body(changes)), changes);
  }
}

TEST(Body, RefusesWhatIsNone) {
  for (const char* wrong : {"part\n",
                            "part\tx\n",
                            "part\t0\tcode=\n",
                            "part\t0\tcode=q1\n",
                            "part\t0\tface=i1x\n",
                            "part\t0\tmass=dnan\n",
                            "part\t0\tnote=t\\\n",
                            "part\t0\tb=b0\n",
                            "part\t0\tb=bzz\n",
                            "part\t0\tface=i99999999999999999999\n"})
    EXPECT_THROW(read_body(wrong), StoreFailure) << wrong;
}

}  // namespace
}  // namespace goodside::ledger
