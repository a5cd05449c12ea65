#include "serve/calculations.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

#include "intake/safe_file.hpp"
#include "intake/temporary_folder.hpp"
#include "serve/child.hpp"
#include "serve/nodes.hpp"

namespace goodside::serve {
namespace {

using Clock = std::chrono::steady_clock;

constexpr int at_once = 2, most_waiting = 8;
constexpr auto patience = std::chrono::seconds{20};
constexpr std::size_t longest_text = 200, most_of_one = 200;
constexpr std::size_t largest_answer = std::size_t{32} << 20;

/// Everywhere in the text.
void replace_all(std::string& text, const std::string& what, const std::string& with) {
  if (what.empty()) return;
  for (auto at = text.find(what); at != std::string::npos; at = text.find(what, at + with.size()))
    text.replace(at, what.size(), with);
}

[[noreturn]] void refuse(std::string_view option, std::string_view why) {
  throw Stop{422, fmt::format("--{}: {}", option, why)};
}

/// Of one line, and nothing that the command could take for an option of its own.
const std::string& text_of(const CalculationOption& option, const json::Node& node) {
  const auto* text = std::get_if<std::string>(&node.value);
  if (text == nullptr) refuse(option.name, "give a text");
  if (text->empty() || text->size() > longest_text)
    refuse(option.name, fmt::format("give 1 to {} bytes", longest_text));
  if (std::ranges::any_of(*text, [](unsigned char c) { return c < 0x20 || c == 0x7f; }))
    refuse(option.name, "give one line");
  if (option.typed.empty() && text->front() == '-')
    refuse(option.name, "this begins with a dash; write it without");
  return *text;
}

bool is_given(const json::Node& options, std::string_view name) {
  const json::Node* const node = options.find(name);
  if (node == nullptr || std::holds_alternative<std::monostate>(node->value)) return false;
  const bool* const flag = std::get_if<bool>(&node->value);
  return flag == nullptr || *flag;
}

std::string head_of(const CalculationOption& option) {
  if (option.typed.empty()) return {};
  return (option.typed == "--" ? fmt::format("--{}", option.name) : std::string{option.typed}) +
         "=";
}

/// The entry that the command says it made, at the end of what it says.
std::optional<std::int64_t> entry_in(std::string_view said) {
  constexpr std::string_view before = "Entry ";
  const auto at = said.rfind(before);
  if (at == std::string_view::npos) return std::nullopt;
  said.remove_prefix(at + before.size());
  return whole_number(said.substr(0, said.find(',')));
}

/// What a person reads first, last and for their safety: every command speaks so (its verdict first, "caution" or
/// "Caution:" before a caution, "Next:" before what to do; what goes on is indented).
void read_words(Calculated& answer) {
  std::string* paragraph = nullptr;
  std::string_view rest{answer.words};
  while (!rest.empty()) {
    const auto end = std::min(rest.find('\n'), rest.size());
    std::string_view line = rest.substr(0, end);
    rest.remove_prefix(std::min(end + 1, rest.size()));
    if (answer.headline.empty()) {
      answer.headline = line;
      continue;
    }
    const bool goes_on = line.starts_with("      ");
    const auto begins = [&](std::string_view head, std::string& to) {
      if (!line.starts_with(head)) return false;
      line.remove_prefix(head.size());
      paragraph = &to;
      return true;
    };
    std::string caution;
    if (begins("  caution  ", caution) || begins("Caution: ", caution)) {
      paragraph = &answer.cautions.emplace_back();
    } else if (!begins("Next: ", answer.next) && !begins("next: ", answer.next) && !goes_on) {
      paragraph = nullptr;
    }
    if (paragraph == nullptr) continue;
    line.remove_prefix(std::min(line.find_first_not_of(' '), line.size()));
    *paragraph += fmt::format("{}{}", paragraph->empty() ? "" : " ", line);
  }
}

std::string spoken(std::string_view last_words, const Calculation& calculation) {
  std::string head = "goodside";
  for (const auto word : calculation.command) head += fmt::format(" {}", word);
  head += ": ";
  if (last_words.starts_with(head)) last_words.remove_prefix(head.size());
  return std::string{last_words};
}

}  // namespace

/// A place among those that run; waits for it a while.
class Calculations::Turn {
 public:
  explicit Turn(Calculations& all) : all_{all} {
    std::unique_lock lock{all_.guard_};
    if (all_.waiting_ >= most_waiting)
      throw Stop{503, "many calculations wait already; try again in a moment", 10};
    ++all_.waiting_;
    const bool mine = all_.freed_.wait_for(
        lock, patience, [&] { return all_.stopping_ || all_.running_ < at_once; });
    --all_.waiting_;
    if (all_.stopping_) throw Stop{503, "the server is ending"};
    if (!mine) throw Stop{503, "other calculations take long; try again in a moment", 20};
    ++all_.running_;
  }
  Turn(const Turn&) = delete;
  Turn& operator=(const Turn&) = delete;
  ~Turn() {
    {
      const std::lock_guard lock{all_.guard_};
      --all_.running_;
    }
    all_.freed_.notify_one();
  }

 private:
  Calculations& all_;
};

/// The command's words, and what a person calls the files in them.
struct Calculations::Words {
  std::vector<std::string> words;
  std::vector<std::pair<std::string, std::string>> files{};  ///< path or its last part, name

  void add(const CalculationOption& option, const json::Node& node, GivenFiles& given);
};

void Calculations::Words::add(const CalculationOption& option,
                              const json::Node& node,
                              GivenFiles& given) {
  if (std::holds_alternative<std::monostate>(node.value)) return;
  switch (option.as) {
    case GivenAs::text:
      words.push_back(head_of(option) + text_of(option, node));
      return;
    case GivenAs::yes: {
      const auto* yes = std::get_if<bool>(&node.value);
      if (yes == nullptr) refuse(option.name, "give true or false");
      if (*yes) words.push_back(fmt::format("--{}", option.name));
      return;
    }
    case GivenAs::several: {
      if (std::holds_alternative<std::string>(node.value)) {
        words.push_back(head_of(option) + text_of(option, node));
        return;
      }
      const auto* list = std::get_if<List>(&node.value);
      if (list == nullptr || list->size() > most_of_one)
        refuse(option.name, fmt::format("give a list of at most {} texts", most_of_one));
      for (const json::Node& one : *list) words.push_back(head_of(option) + text_of(option, one));
      return;
    }
    case GivenAs::file: {
      const GivenFile file = given.find(text_of(option, node));
      words.push_back(head_of(option) + file.path);
      files.emplace_back(file.path, file.name);
      files.emplace_back(file.path.substr(file.path.rfind('/') + 1), file.name);
      return;
    }
  }
}

Calculations::Words Calculations::words_of(const CalculationAsked& asked,
                                           const std::string& json) const {
  const Calculation& calculation = asked.calculation;
  Words all;
  for (const std::string_view word : calculation.command) all.words.emplace_back(word);
  const auto* options = std::get_if<Object>(&asked.options.value);
  if (options == nullptr) throw Stop{400, "options: give an object"};
  for (const auto& [name, node] : *options) {
    const auto known = std::ranges::find(calculation.options, name, &CalculationOption::name);
    if (known == calculation.options.end())
      throw Stop{422, fmt::format("--{}: this cannot be given here", name.substr(0, 40))};
    all.add(*known, node, files_);
  }
  all.words.push_back("--json=" + json);
  if (calculation.in_works && !is_given(asked.options, calculation.in_works_unless))
    all.words.push_back("--in=" + works_);
  if (!asked.log) return all;
  if (!asked.log_to.empty() && std::ranges::none_of(*options, [&](const auto& one) {
        return one.first == calculation.log.to;
      }))
    all.add({.name = calculation.log.to}, asked.log_to, files_);
  if (!calculation.log.flag.empty()) all.words.emplace_back(calculation.log.flag);
  all.words.push_back("--by=" + asked.who);
  return all;
}

bool Calculations::stopping() {
  const std::lock_guard lock{guard_};
  return stopping_;
}

void Calculations::stop() {
  {
    const std::lock_guard lock{guard_};
    stopping_ = true;
  }
  freed_.notify_all();
}

Calculated Calculations::run(const CalculationAsked& asked) {
  const auto folder = or_stop(intake::TemporaryFolder::create());
  Words all = words_of(asked, folder.file("answer.json"));
  std::vector<const CalculationPicture*> pictures;
  for (const CalculationPicture& picture : asked.calculation.pictures) {
    if (!picture.only_with.empty() &&
        std::ranges::none_of(picture.only_with,
                             [&](std::string_view name) { return is_given(asked.options, name); }))
      continue;
    pictures.push_back(&picture);
    all.words.push_back(
        fmt::format("--{}={}", picture.option, folder.file(fmt::format("{}.svg", picture.option))));
  }
  const Turn turn{*this};
  const auto until = Clock::now() + std::chrono::seconds{longest_s};
  bool took_too_long = false;
  const auto ended = or_stop(run_child(
      this_program,
      all.words,
      works_,
      [](const std::string&) {},
      [&] {
        took_too_long = Clock::now() > until;
        return !took_too_long && !stopping();
      },
      folder.file("words")));
  if (took_too_long)
    throw Stop{422,
               fmt::format("this takes longer than {} s; ask for less (points, draws, rounds), or "
                           "run the command at a terminal",
                           longest_s)};
  std::string said = spoken(ended.last_words, asked.calculation);
  for (const auto& [path, name] : all.files) replace_all(said, path, name);
  replace_all(said, works_ + "/", "");
  if (ended.status == -1 || ended.status > 3 || ended.status == 126)
    throw Stop{503, stopping() ? "the server is ending" : "the calculation was ended; try again"};
  if (ended.status == 3) throw Stop{500, said};
  if (ended.status == 2) throw Stop{422, said};

  const auto read = [&](const std::string& name) {
    std::string text = or_stop(intake::read_whole(folder.file(name), largest_answer));
    for (const auto& [path, shown] : all.files) replace_all(text, path, shown);
    return text;
  };
  Calculated answer;
  answer.within = ended.status == 0;
  answer.words = read("words");
  read_words(answer);
  answer.result = or_stop(json::read_node(read("answer.json"), largest_answer, "the answer"));
  for (const CalculationPicture* picture : pictures)
    answer.pictures.push_back(Object{{"name", std::string{picture->option}},
                                     {"title", std::string{picture->title}},
                                     {"svg", read(fmt::format("{}.svg", picture->option))}});
  if (asked.log) {
    answer.entry = entry_in(answer.words);
    if (!answer.entry) throw Stop{500, "the record did not say which entry this is"};
  }
  return answer;
}

}  // namespace goodside::serve
