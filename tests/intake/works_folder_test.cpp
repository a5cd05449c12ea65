#include "intake/works_folder.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "intake/audio_files.hpp"

namespace goodside::intake {
namespace {

using testing::HasSubstr;

class WorksFolder : public testing::Test {
 protected:
  WorksFolder() {
    for (const char* works : {"a", "b"}) {
      std::filesystem::create_directories(folder_.file(works) + "/reports/may");
      test::write_bytes(folder_.file(works) + "/goodside.toml", "");
    }
    std::filesystem::create_directories(folder_.file("bare"));
  }
  test::TemporaryFolder folder_;
};

TEST_F(WorksFolder, IsTheNearestAboveTheCurrentOne) {
  EXPECT_EQ(find_works_folder(
                {.asked_for = {}, .environment = {}, .from_folder = folder_.file("a/reports/may")})
                .value(),
            folder_.file("a"));
  EXPECT_EQ(
      find_works_folder({.asked_for = {}, .environment = "", .from_folder = folder_.file("a")})
          .value(),
      folder_.file("a"));
  EXPECT_EQ(
      find_works_folder({.asked_for = {}, .environment = {}, .from_folder = folder_.file("bare")})
          .value(),
      std::nullopt);
}

TEST_F(WorksFolder, IsTheOneThatWasNamedAndTheOptionComesFirst) {
  const auto here = folder_.file("bare"), a = folder_.file("a"), b = folder_.file("b");
  EXPECT_EQ(find_works_folder({.asked_for = a, .environment = b, .from_folder = here}).value(), a);
  EXPECT_EQ(find_works_folder({.asked_for = {}, .environment = b, .from_folder = a}).value(), b);
}

TEST_F(WorksFolder, IsRefusedWhereNamedButNotThere) {
  const auto bare = find_works_folder({.asked_for = folder_.file("bare"), .environment = {}});
  EXPECT_THAT(bare.error().text, testing::AllOf(HasSubstr("--in"), HasSubstr("goodside.toml")));
  const auto none = find_works_folder({.asked_for = {}, .environment = folder_.file("none")});
  EXPECT_THAT(none.error().text, testing::AllOf(HasSubstr("GOODSIDE_DIR"), HasSubstr("no folder")));
  EXPECT_EQ(none.error().fault, Fault::not_found);
}

}  // namespace
}  // namespace goodside::intake
