#include <gtest/gtest.h>
#include <sqlite3.h>

#include <algorithm>
#include <cstring>
#include <map>
#include <memory>
#include <random>
#include <string>
#include <vector>

#include "ledger/check.hpp"
#include "ledger/record.hpp"
#include "ledger/test_stores.hpp"

// Power loss, by a file system of our own under SQLite: what was written and not yet synced survives
// in part, in any order, torn at sector ends [SQLite, "Atomic Commit In SQLite", section 2].

namespace goodside::ledger {
namespace {

constexpr std::size_t sector_bytes = 512;

struct Write {
  std::size_t offset{};
  std::string bytes;
};

/// What the disk holds, and what still waits in caches.
struct Disk {
  struct File {
    std::string seen, safe;
    std::vector<Write> waiting;
    std::vector<std::unique_ptr<char[]>> shared;
  };
  std::map<std::string, std::shared_ptr<File>> files;
  std::int64_t operations_left{-1};  ///< -1: no end in sight
  std::mt19937 random{1};

  bool dead() {
    if (operations_left < 0) return false;
    if (operations_left == 0) return true;
    --operations_left;
    return false;
  }

  void lose_power() {
    for (auto& [name, file] : files) {
      for (const Write& write : file->waiting)
        for (std::size_t at = 0; at < write.bytes.size(); at += sector_bytes) {
          if (random() % 2 == 0) continue;
          const std::string_view piece = std::string_view{write.bytes}.substr(at, sector_bytes);
          if (file->safe.size() < write.offset + at + piece.size())
            file->safe.resize(write.offset + at + piece.size());
          std::copy(piece.begin(),
                    piece.end(),
                    file->safe.begin() + static_cast<std::ptrdiff_t>(write.offset + at));
        }
      file->waiting.clear();
      file->seen = file->safe;
      file->shared.clear();
    }
    operations_left = -1;
  }
};

Disk* disk = nullptr;

struct Opened : sqlite3_file {
  std::shared_ptr<Disk::File>* file;
  std::string* name;
  bool temporary;
};

Opened* opened(sqlite3_file* file) {
  return static_cast<Opened*>(file);
}
Disk::File& content(sqlite3_file* file) {
  return **opened(file)->file;
}

int close_file(sqlite3_file* file) {
  if (opened(file)->temporary) disk->files.erase(*opened(file)->name);
  delete opened(file)->file;
  delete opened(file)->name;
  return SQLITE_OK;
}
int read_file(sqlite3_file* file, void* into, int amount, sqlite3_int64 offset) {
  const std::string& bytes = content(file).seen;
  const auto at = static_cast<std::size_t>(offset), wanted = static_cast<std::size_t>(amount);
  std::memset(into, 0, wanted);
  if (at >= bytes.size()) return SQLITE_IOERR_SHORT_READ;
  const std::size_t there = std::min(wanted, bytes.size() - at);
  std::memcpy(into, bytes.data() + at, there);
  return there == wanted ? SQLITE_OK : SQLITE_IOERR_SHORT_READ;
}
int write_file(sqlite3_file* file, const void* from, int amount, sqlite3_int64 offset) {
  if (disk->dead()) return SQLITE_IOERR_WRITE;
  Write write{static_cast<std::size_t>(offset),
              std::string(static_cast<const char*>(from), static_cast<std::size_t>(amount))};
  std::string& bytes = content(file).seen;
  if (bytes.size() < write.offset + write.bytes.size())
    bytes.resize(write.offset + write.bytes.size());
  std::copy(write.bytes.begin(),
            write.bytes.end(),
            bytes.begin() + static_cast<std::ptrdiff_t>(write.offset));
  content(file).waiting.push_back(std::move(write));
  return SQLITE_OK;
}
int truncate_file(sqlite3_file* file, sqlite3_int64 size) {
  if (disk->dead()) return SQLITE_IOERR_TRUNCATE;
  content(file).seen.resize(static_cast<std::size_t>(size));
  content(file).safe = content(file).seen;
  content(file).waiting.clear();
  return SQLITE_OK;
}
int sync_file(sqlite3_file* file, int) {
  if (disk->dead()) return SQLITE_IOERR_FSYNC;
  content(file).safe = content(file).seen;
  content(file).waiting.clear();
  return SQLITE_OK;
}
int file_size(sqlite3_file* file, sqlite3_int64* size) {
  *size = static_cast<sqlite3_int64>(content(file).seen.size());
  return SQLITE_OK;
}
int lock_file(sqlite3_file*, int) {
  return SQLITE_OK;
}
int reserved_lock(sqlite3_file*, int* held) {
  *held = 0;
  return SQLITE_OK;
}
int control_file(sqlite3_file*, int, void*) {
  return SQLITE_NOTFOUND;
}
int sector_size(sqlite3_file*) {
  return static_cast<int>(sector_bytes);
}
int characteristics(sqlite3_file*) {
  return 0;
}
int map_shared(sqlite3_file* file, int region, int size, int, volatile void** memory) {
  auto& shared = content(file).shared;
  while (shared.size() <= static_cast<std::size_t>(region))
    shared.push_back(std::make_unique<char[]>(static_cast<std::size_t>(size)));
  *memory = shared[static_cast<std::size_t>(region)].get();
  return SQLITE_OK;
}
int lock_shared(sqlite3_file*, int, int, int) {
  return SQLITE_OK;
}
void barrier(sqlite3_file*) {}
int unmap_shared(sqlite3_file* file, int) {
  content(file).shared.clear();
  return SQLITE_OK;
}

const sqlite3_io_methods methods{2,
                                 close_file,
                                 read_file,
                                 write_file,
                                 truncate_file,
                                 sync_file,
                                 file_size,
                                 lock_file,
                                 lock_file,
                                 reserved_lock,
                                 control_file,
                                 sector_size,
                                 characteristics,
                                 map_shared,
                                 lock_shared,
                                 barrier,
                                 unmap_shared,
                                 nullptr,
                                 nullptr};

int open_file(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out) {
  static int unnamed = 0;
  const std::string path = name == nullptr ? "unnamed" + std::to_string(unnamed++) : name;
  auto known = disk->files.find(path);
  if (known == disk->files.end()) {
    if ((flags & SQLITE_OPEN_CREATE) == 0) return SQLITE_CANTOPEN;
    known = disk->files.emplace(path, std::make_shared<Disk::File>()).first;
  }
  opened(file)->pMethods = &methods;
  opened(file)->file = new std::shared_ptr<Disk::File>(known->second);
  opened(file)->name = new std::string(path);
  opened(file)->temporary = (flags & SQLITE_OPEN_DELETEONCLOSE) != 0;
  if (out != nullptr) *out = flags;
  return SQLITE_OK;
}
int delete_file(sqlite3_vfs*, const char* name, int) {
  if (disk->dead()) return SQLITE_IOERR_DELETE;
  disk->files.erase(name);
  return SQLITE_OK;
}
int access_file(sqlite3_vfs*, const char* name, int, int* there) {
  *there = disk->files.contains(name) ? 1 : 0;
  return SQLITE_OK;
}
int full_name(sqlite3_vfs*, const char* name, int size, char* out) {
  sqlite3_snprintf(size, out, "%s", name);
  return SQLITE_OK;
}

/// The default file system of SQLite while it lives.
class FailingDisk {
 public:
  explicit FailingDisk(std::uint32_t seed) {
    usual_ = sqlite3_vfs_find(nullptr);
    ours_ = *usual_;
    ours_.iVersion = 1;
    ours_.szOsFile = sizeof(Opened);
    ours_.zName = "failing";
    ours_.xOpen = open_file;
    ours_.xDelete = delete_file;
    ours_.xAccess = access_file;
    ours_.xFullPathname = full_name;
    sqlite3_vfs_register(&ours_, 1);
    disk_.random.seed(seed);
    disk = &disk_;
  }
  FailingDisk(const FailingDisk&) = delete;
  FailingDisk& operator=(const FailingDisk&) = delete;
  ~FailingDisk() {
    sqlite3_vfs_unregister(&ours_);
    sqlite3_vfs_register(usual_, 1);
    disk = nullptr;
  }
  Disk* operator->() { return &disk_; }

 private:
  Disk disk_;
  sqlite3_vfs* usual_{};
  sqlite3_vfs ours_{};
};

// Power goes at a random operation, 150 times, on one record that goes on living: every entry that
// was acknowledged is there afterwards, none is there by half, and the count closes.
TEST(PowerLoss, LosesNoAcknowledgedEntryAndLeavesNoHalfEntry) {
  FailingDisk failing{20261126};
  std::mt19937 random{11};
  test::SmallWorks works;
  Head acknowledged;
  {
    auto record = Record::open("record.db", true);
    ASSERT_TRUE(record.has_value()) << record.error().text;
    works = test::make_small_works(*record, 0);
    acknowledged = head_of(record->connection());
  }
  int cut_short = 0;
  for (int loss = 0; loss < 150; ++loss) {
    {
      auto record = Record::open("record.db", false);
      ASSERT_TRUE(record.has_value()) << record.error().text;
      failing->operations_left = static_cast<std::int64_t>(random() % 120);
      for (int i = 0; i < 12; ++i) {
        const auto head =
            record->write({test::morning_ms + loss, "Ida", "press"}, [&](Writer& writer) {
              const auto made = writer.stock(works.run).made();
              writer.add(works::kind_of_table("pressing"),
                         {{"run", works.run},
                          {"mounting", works.mounting},
                          {"first", made + 1},
                          {"last", made + 5}});
              writer.post({works.run,
                           {made + 1, made + 5},
                           5,
                           {works::Place::press, "", "", {}},
                           {works::Place::pressed, "", "", {}}});
            });
        if (!head) {
          ++cut_short;
          EXPECT_EQ(head.error().fault, Fault::io) << head.error().text;
          break;
        }
        acknowledged = *head;
      }
      failing->operations_left = 0;
    }
    failing->lose_power();
    auto record = Record::open("record.db", false);
    ASSERT_TRUE(record.has_value()) << record.error().text;
    const Checked checked =
        check(record->connection(), {.known_head = acknowledged, .since_ms = {}});
    ASSERT_TRUE(checked.closes()) << "after loss " << loss << ": " << checked.breaks.front();
    ASSERT_GE(checked.head.seq, acknowledged.seq);
    acknowledged = checked.head;
  }
  EXPECT_GT(cut_short, 50);
  EXPECT_GT(acknowledged.seq, 100);
}

}  // namespace
}  // namespace goodside::ledger
