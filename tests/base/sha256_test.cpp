#include "base/sha256.hpp"

#include <gtest/gtest.h>

#include <string>

namespace goodside {
namespace {

// Published: the example messages of [FIPS180-4], from memory of the example-values page.
TEST(Sha256, AgreesWithThePublishedExamples) {
  EXPECT_EQ(sha256_hexadecimal("abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(sha256_hexadecimal(""),
            "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  EXPECT_EQ(sha256_hexadecimal("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(sha256_hexadecimal(std::string(1'000'000, 'a')),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

// Property: any split of the message, and any message before it, gives the same digest.
TEST(Sha256, DoesNotDependOnThePieces) {
  const std::string message(1000, 'x');
  Sha256 hash;
  for (const std::size_t piece : {1U, 7U, 64U, 65U, 999U}) {
    for (std::size_t at = 0; at < message.size(); at += piece)
      hash.take(std::string_view{message}.substr(at, piece));
    EXPECT_EQ(hexadecimal(hash.finish()), sha256_hexadecimal(message));
  }
}

}  // namespace
}  // namespace goodside
