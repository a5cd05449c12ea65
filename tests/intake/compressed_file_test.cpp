#include "intake/compressed_file.hpp"

#include <gtest/gtest.h>

#include <cstdlib>

#include "intake/audio_files.hpp"
#include "intake/safe_file.hpp"

namespace goodside::intake {
namespace {

TEST(CompressedFile, ReadsBackAndIsTheSameEachTime) {
  const test::TemporaryFolder folder;
  std::string bytes;
  for (int n = 0; n < 200'000; ++n) bytes += std::to_string(n % 977) + ",";
  const std::string path = folder.file("report.json.gz"), again = folder.file("again.json.gz");
  ASSERT_TRUE(write_compressed(path, bytes).has_value());
  ASSERT_TRUE(write_compressed(again, bytes).has_value());
  EXPECT_EQ(test::bytes_of(path), test::bytes_of(again));
  EXPECT_LT(test::bytes_of(path).size(), bytes.size() / 10);
  EXPECT_EQ(read_compressed(path, bytes.size()).value(), bytes);
  EXPECT_FALSE(read_compressed(path, bytes.size() - 1).has_value());
  ASSERT_TRUE(write_compressed(path, "").has_value());
  EXPECT_EQ(read_compressed(path, 10).value(), "");
}

// Second road: the system's own gzip.
TEST(CompressedFile, IsReadByGzip) {
  const test::TemporaryFolder folder;
  ASSERT_TRUE(write_compressed(folder.file("a.gz"), "the same words\n").has_value());
  ASSERT_EQ(std::system(("gzip -dc " + folder.file("a.gz") + " > " + folder.file("a")).c_str()), 0);
  EXPECT_EQ(test::bytes_of(folder.file("a")), "the same words\n");
}

TEST(CompressedFile, RefusesWhatIsDamaged) {
  const test::TemporaryFolder folder;
  const std::string path = folder.file("report.json.gz");
  ASSERT_TRUE(write_compressed(path, std::string(5000, 'a') + "end").has_value());
  const std::string good = test::bytes_of(path);
  for (const double share : {0.0, 0.3, 0.9}) {
    test::write_bytes(path, good);
    test::cut_to(path, share);
    EXPECT_FALSE(read_compressed(path, 1 << 20).has_value()) << share;
  }
  std::string flipped = good;
  flipped[flipped.size() / 2] = static_cast<char>(flipped[flipped.size() / 2] ^ 0x40);
  test::write_bytes(path, flipped);
  EXPECT_FALSE(read_compressed(path, 1 << 20).has_value());
  test::write_bytes(path, good + "more");
  EXPECT_FALSE(read_compressed(path, 1 << 20).has_value());
  EXPECT_EQ(read_compressed(folder.file("none"), 10).error().fault, Fault::not_found);
}

}  // namespace
}  // namespace goodside::intake
