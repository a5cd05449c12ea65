#include "json/reference_note.hpp"

#include <gtest/gtest.h>

#include <string>

namespace goodside::json {
namespace {

works::ReferenceNote sample() {
  works::ReferenceNote note;
  note.reference.file = {"consensus.wav", 96000.0, 2, 1234.5678901, std::string(64, 'a')};
  note.reference.kind = works::ReferenceKind::consensus;
  note.reference.own_faults = {{12.25, 12.2512345}};
  note.reference.peers = {
      {{"b.wav", 48000.0, 2, 1230.0, std::string(64, 'b')}, {{0.0, 1229.0}}, 17}};
  note.programme = {0.5, 1234.0};
  return note;
}

// Property: save and load is identity, and equal notes give equal bytes.
TEST(ReferenceNote, IsReadAsItWasWritten) {
  const std::string text = write(sample());
  const auto again = read_reference_note(text);
  ASSERT_TRUE(again) << again.error().text;
  EXPECT_EQ(write(*again), text);
  EXPECT_EQ(again->reference.kind, works::ReferenceKind::consensus);
  ASSERT_EQ(again->reference.own_faults.size(), 1U);
  EXPECT_DOUBLE_EQ(again->reference.own_faults[0].to_s, 12.2512345);
  ASSERT_EQ(again->reference.peers.size(), 1U);
  EXPECT_EQ(again->reference.peers[0].outvoted, 17);
  EXPECT_DOUBLE_EQ(again->programme.from_s, 0.5);
}

TEST(ReferenceNote, RefusesInOneLineWhatItCannotRead) {
  const std::string text = write(sample());
  const auto changed = [&](const std::string& from, const std::string& to) {
    std::string other = text;
    const auto at = other.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    return read_reference_note(other.replace(at, from.size(), to));
  };
  for (const auto& bad : {read_reference_note(text.substr(0, text.size() / 2)),
                          changed("goodside.reference/1", "goodside.reference/9"),
                          changed("\"consensus\"", "\"hearsay\""),
                          changed("12.25,", "99.0,"),
                          changed("\"outvoted\": 17", "\"outvoted\": -1")}) {
    ASSERT_FALSE(bad);
    EXPECT_EQ(bad.error().fault, Fault::bad_input);
    EXPECT_EQ(bad.error().text.find('\n'), std::string::npos) << bad.error().text;
  }
}

}  // namespace
}  // namespace goodside::json
