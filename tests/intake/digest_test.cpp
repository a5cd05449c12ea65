#include "intake/digest.hpp"

#include <gtest/gtest.h>

#include "intake/audio_files.hpp"

namespace goodside::intake {
namespace {

// Published: NIST, "SHA-256" example values of FIPS 180-4 (one block, two blocks), and the million
// letters "a" of FIPS 180-2, appendix B.3; the empty message from the NIST test vectors
// SHA256ShortMsg. Values from memory, agreeing with the sha256sum of GNU coreutils.
TEST(Digest, AgreesWithThePublishedExamples) {
  const test::TemporaryFolder folder;
  const auto path = folder.file("message");
  const std::pair<std::string, const char*> examples[] = {
      {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
      {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
      {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
       "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
      {std::string(1'000'000, 'a'),
       "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"},
  };
  for (const auto& [message, digest] : examples) {
    test::write_bytes(path, message);
    const auto result = sha256_of_file(path);
    ASSERT_TRUE(result);
    EXPECT_EQ(*result, digest);
  }
}

TEST(Digest, RefusesAFileThatIsNotThere) {
  const test::TemporaryFolder folder;
  const auto result = sha256_of_file(folder.file("none"));
  ASSERT_FALSE(result);
  EXPECT_EQ(result.error().fault, Fault::io);
}

}  // namespace
}  // namespace goodside::intake
