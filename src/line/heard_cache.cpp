#include "line/heard_cache.hpp"

#include <algorithm>
#include <cstring>
#include <filesystem>
#include <system_error>
#include <type_traits>
#include <utility>
#include <vector>

#include "base/sha256.hpp"
#include "intake/safe_file.hpp"

namespace goodside::line {
namespace {

namespace fs = std::filesystem;
using works::HeardPlay;

constexpr std::size_t largest_bytes = std::size_t{1} << 30;
constexpr std::size_t digest_digits = 64;

/// What a change of the layout would change too.
std::string mark() {
  return "goodside heard/1 " + std::to_string(sizeof(works::HeardFault)) + ' ' +
         std::to_string(sizeof(works::HeardPattern)) + ' ' +
         std::to_string(sizeof(works::SideMeasures)) + '\n';
}

class Writer {
 public:
  template <class T>
  void put(const T& value) {
    static_assert(std::is_trivially_copyable_v<T>);
    bytes.append(reinterpret_cast<const char*>(&value), sizeof value);
  }
  void put_text(std::string_view text) {
    put(text.size());
    bytes.append(text);
  }
  template <class T>
  void put_all(const std::vector<T>& list) {
    put(list.size());
    for (const T& one : list) put(one);
  }
  std::string bytes;
};

class Reader {
 public:
  explicit Reader(std::string_view bytes) : left_{bytes} {}
  template <class T>
  bool take(T& value) {
    static_assert(std::is_trivially_copyable_v<T>);
    if (left_.size() < sizeof value) return false;
    std::memcpy(&value, left_.data(), sizeof value);
    left_.remove_prefix(sizeof value);
    return true;
  }
  bool take_text(std::string& text) {
    std::size_t size = 0;
    if (!take(size) || size > left_.size()) return false;
    text = left_.substr(0, size);
    left_.remove_prefix(size);
    return true;
  }
  template <class T>
  bool take_all(std::vector<T>& list) {
    std::size_t size = 0;
    if (!take(size) || size > left_.size() / sizeof(T)) return false;
    list.resize(size);
    return std::ranges::all_of(list, [&](T& one) { return take(one); });
  }
  [[nodiscard]] bool ended() const { return left_.empty(); }

 private:
  std::string_view left_;
};

void put(Writer& to, const HeardPlay& play) {
  to.put(play.sigma_s);
  to.put(play.length_s);
  to.put(play.rpm);
  to.put(play.measures);
  to.put_all(play.heard);
  to.put_all(play.faults);
  to.put_all(play.patterns);
}

bool take(Reader& from, HeardPlay& play) {
  return from.take(play.sigma_s) && from.take(play.length_s) && from.take(play.rpm) &&
         from.take(play.measures) && from.take_all(play.heard) && from.take_all(play.faults) &&
         from.take_all(play.patterns);
}

}  // namespace

HeardCache::HeardCache(std::string path) : path_{std::move(path)} {
  if (const auto bytes = intake::read_whole(path_, largest_bytes)) read(*bytes);
}

void HeardCache::read(std::string_view bytes) {
  const std::string head = mark();
  if (!bytes.starts_with(head) || bytes.size() < head.size() + digest_digits) return;
  const std::string_view digest = bytes.substr(head.size(), digest_digits);
  const std::string_view body = bytes.substr(head.size() + digest_digits);
  if (sha256_hexadecimal(body) != digest) return;
  Reader from{body};
  while (!from.ended()) {
    std::string report;
    HeardPlay play;
    if (!from.take_text(report) || !take(from, play)) {
      plays_.clear();
      return;
    }
    plays_.insert_or_assign(std::move(report), std::move(play));
  }
}

const HeardPlay* HeardCache::find(const std::string& report) const {
  const auto found = plays_.find(report);
  return found == plays_.end() ? nullptr : &found->second;
}

void HeardCache::keep(const std::string& report, HeardPlay play) {
  plays_.insert_or_assign(report, std::move(play));
  changed_ = true;
}

Outcome HeardCache::save() {
  if (!changed_) return Done{};
  std::vector<const std::string*> order;
  for (const auto& [report, play] : plays_) order.push_back(&report);
  std::ranges::sort(order, {}, [](const std::string* one) -> const std::string& { return *one; });
  Writer body;
  for (const std::string* report : order) {
    body.put_text(*report);
    put(body, plays_.at(*report));
  }
  std::error_code ignored;
  fs::create_directories(fs::path{path_}.parent_path(), ignored);
  changed_ = false;
  return intake::write_whole(path_, mark() + sha256_hexadecimal(body.bytes) + body.bytes);
}

}  // namespace goodside::line
