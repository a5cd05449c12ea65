#include "intake/safe_file.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <sys/stat.h>

#include "intake/audio_files.hpp"

namespace goodside::intake {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

TEST(SafeFile, AppearsWholeOrNotAtAll) {
  const test::TemporaryFolder folder;
  const auto path = folder.file("report.json");
  {
    auto file = SafeFile::create(path);
    ASSERT_TRUE(file);
    ASSERT_TRUE(file->write("half of it"));
    EXPECT_EQ(folder.names().size(), 1U);
    EXPECT_FALSE(std::filesystem::exists(path));
  }
  EXPECT_THAT(folder.names(), IsEmpty());
  ASSERT_TRUE(write_whole(path, "all of it"));
  EXPECT_THAT(folder.names(), ElementsAre("report.json"));
  EXPECT_EQ(test::bytes_of(path), "all of it");
}

TEST(SafeFile, LeavesTheOldFileUntilTheNewOneIsWhole) {
  const test::TemporaryFolder folder;
  const auto path = folder.file("a");
  ASSERT_TRUE(write_whole(path, "old"));
  {
    auto file = SafeFile::create(path);
    ASSERT_TRUE(file);
    ASSERT_TRUE(file->write("new"));
    EXPECT_EQ(test::bytes_of(path), "old");
    ASSERT_TRUE(file->commit());
  }
  EXPECT_EQ(test::bytes_of(path), "new");
  EXPECT_THAT(folder.names(), ElementsAre("a"));
}

TEST(SafeFile, HandsItsFileOverWhenMoved) {
  const test::TemporaryFolder folder;
  auto first = SafeFile::create(folder.file("a"));
  auto other = SafeFile::create(folder.file("b"));
  ASSERT_TRUE(first && other);
  *other = std::move(*first);
  EXPECT_EQ(folder.names().size(), 1U) << "what the target held before is taken away";
  ASSERT_TRUE(other->commit());
  EXPECT_THAT(folder.names(), ElementsAre("a"));
  EXPECT_FALSE(other->commit()) << "once is enough";
}

TEST(SafeFile, FollowsALinkAndKeepsIt) {
  const test::TemporaryFolder folder;
  ASSERT_TRUE(write_whole(folder.file("real"), "old"));
  std::filesystem::create_symlink("real", folder.file("link"));
  ASSERT_TRUE(write_whole(folder.file("link"), "new"));
  EXPECT_TRUE(std::filesystem::is_symlink(folder.file("link")));
  EXPECT_EQ(test::bytes_of(folder.file("real")), "new");
}

TEST(SafeFile, RefusesWhatIsNoOrdinaryFile) {
  const test::TemporaryFolder folder;
  EXPECT_THAT(write_whole(folder.file(""), "x").error().text, HasSubstr("a folder"));
  EXPECT_THAT(write_whole("", "x").error().text, HasSubstr("a folder"));
  EXPECT_THAT(write_whole(folder.file("no/such/folder"), "x").error().text,
              HasSubstr("cannot be written"));
  ASSERT_EQ(mkfifo(folder.file("pipe").c_str(), 0600), 0);
  EXPECT_THAT(write_whole(folder.file("pipe"), "x").error().text, HasSubstr("a pipe"));
  EXPECT_THAT(folder.names(), ElementsAre("pipe"));
}

TEST(SafeFile, ReadsBackWhatWasWrittenUpToTheBound) {
  const test::TemporaryFolder folder;
  const auto path = folder.file("a");
  const std::string bytes = std::string(100'000, 'x') + std::string("\0\xFF\n", 3);
  ASSERT_TRUE(write_whole(path, bytes));
  EXPECT_EQ(read_whole(path).value(), bytes);
  EXPECT_TRUE(read_whole(path, bytes.size()));
  EXPECT_THAT(read_whole(path, bytes.size() - 1).error().text, HasSubstr("larger than"));
  EXPECT_EQ(read_whole(folder.file("none")).error().fault, Fault::not_found);
  EXPECT_THAT(read_whole(folder.file("")).error().text, HasSubstr("a folder"));
}

// Regression: 2026-11-26, a report stood although the page beside it found no room.
TEST(WriteTogether, LeavesNoneWhereOneCannotBeWritten) {
  const test::TemporaryFolder folder;
  const std::vector<FileBytes> files{{folder.file("report"), "new"},
                                     {folder.file("no/page"), "new"}};
  ASSERT_TRUE(write_whole(folder.file("report"), "old"));
  EXPECT_FALSE(write_together(files));
  EXPECT_EQ(test::bytes_of(folder.file("report")), "old");
  EXPECT_THAT(folder.names(), testing::ElementsAre("report"));
  ASSERT_TRUE(write_together({files.data(), 1}));
  EXPECT_EQ(test::bytes_of(folder.file("report")), "new");
}

}  // namespace
}  // namespace goodside::intake
