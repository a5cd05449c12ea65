#include "serve/records.hpp"

#include <chrono>

namespace goodside::serve {
namespace {

constexpr int most_connections = 4;
constexpr auto longest_wait = std::chrono::seconds{8};

}  // namespace

class Records::Lent {
 public:
  explicit Lent(Records& pool) : pool_{pool} {
    std::unique_lock lock{pool_.guard_};
    const auto ready = [&] { return !pool_.free_.empty() || pool_.opened_ < most_connections; };
    if (!pool_.returned_.wait_for(lock, longest_wait, ready))
      throw Stop{503, "the record is busy; try again", 1};
    if (!pool_.free_.empty()) {
      record_ = std::move(pool_.free_.back());
      pool_.free_.pop_back();
      return;
    }
    ++pool_.opened_;
    lock.unlock();
    auto opened = ledger::Record::open(pool_.store_, false);
    if (opened) {
      record_ = std::make_unique<ledger::Record>(std::move(*opened));
      return;
    }
    give_back();
    throw Stop{503, opened.error().text};
  }
  Lent(const Lent&) = delete;
  Lent& operator=(const Lent&) = delete;
  ~Lent() { give_back(); }
  [[nodiscard]] ledger::Record& record() { return *record_; }

 private:
  void give_back() {
    const std::lock_guard lock{pool_.guard_};
    if (record_)
      pool_.free_.push_back(std::move(record_));
    else
      --pool_.opened_;
    pool_.returned_.notify_one();
  }
  Records& pool_;
  std::unique_ptr<ledger::Record> record_;
};

void Records::read(const std::function<void(ledger::Reader&)>& ask) {
  Lent lent{*this};
  if (const auto asked = lent.record().read(ask); !asked)
    throw Stop{status_of(asked.error().fault), asked.error().text};
}

void Records::at_desk(const std::string& who, const std::function<void(const line::Desk&)>& act) {
  Lent lent{*this};
  act({lent.record(), who, now_ms()});
}

ledger::Head Records::head() {
  ledger::Head head;
  read([&](ledger::Reader& reader) { head = ledger::head_of(reader.connection()); });
  return head;
}

std::int64_t now_ms() {
  using namespace std::chrono;
  return duration_cast<milliseconds>(system_clock::now().time_since_epoch()).count();
}

}  // namespace goodside::serve
