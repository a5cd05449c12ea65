#include "serve/child.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstring>
#include <filesystem>

namespace goodside::serve {
namespace {

constexpr int low_priority = 15, asked_each_ms = 200;
constexpr std::size_t longest_line = 4'000;
constexpr auto patience = std::chrono::seconds{10};

class Pipe {
 public:
  Pipe() { open_ = pipe2(ends_, O_CLOEXEC) == 0; }
  Pipe(const Pipe&) = delete;
  Pipe& operator=(const Pipe&) = delete;
  ~Pipe() {
    if (!open_) return;
    close(ends_[0]);
    close_writing();
  }
  void close_writing() {
    if (ends_[1] >= 0) close(ends_[1]);
    ends_[1] = -1;
  }
  [[nodiscard]] bool open() const { return open_; }
  [[nodiscard]] int reading() const { return ends_[0]; }
  [[nodiscard]] int writing() const { return ends_[1]; }

 private:
  int ends_[2]{-1, -1};
  bool open_{};
};

struct Become {
  char* const* argv;
  const char* folder;
  const char* answer;  ///< file of its standard output
  int errors;
};

/// Only what is allowed between fork and exec in a program with threads.
[[noreturn]] void become(const Become& child, pid_t parent) {
  prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (getppid() != parent) _exit(127);  // it ended before we asked
  sigset_t none;
  sigemptyset(&none);
  sigprocmask(SIG_SETMASK, &none, nullptr);
  setpgid(0, 0);  // Ctrl-C at the terminal is for the server, which then ends this
  setpriority(PRIO_PROCESS, 0, low_priority);
  const int nothing = open("/dev/null", O_RDWR);
  dup2(nothing, STDIN_FILENO);
  const int answer = open(child.answer, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  if (answer < 0) _exit(126);
  dup2(answer, STDOUT_FILENO);
  dup2(child.errors, STDERR_FILENO);
  if (chdir(child.folder) != 0) _exit(126);
  execv(child.argv[0], child.argv);
  _exit(127);
}

/// Takes whole lines off the text.
void take_lines(std::string& text,
                const std::function<void(const std::string&)>& line,
                std::string& last) {
  for (auto end = text.find('\n'); end != std::string::npos; end = text.find('\n')) {
    last = text.substr(0, end);
    line(last);
    text.erase(0, end + 1);
  }
  if (text.size() > longest_line) text.clear();
}

int wait_for(pid_t child) {
  int status = 0;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

}  // namespace

std::string own_program() {
  std::error_code problem;
  const auto path = std::filesystem::read_symlink("/proc/self/exe", problem);
  return problem ? std::string{} : path.string();
}

Result<ChildEnd> run_child(const std::string& program,
                           const std::vector<std::string>& words,
                           const std::string& folder,
                           const std::function<void(const std::string&)>& line,
                           const std::function<bool()>& go_on,
                           const std::string& answer) {
  Pipe errors;
  std::vector<char*> argv{const_cast<char*>(program.c_str())};
  for (const std::string& word : words) argv.push_back(const_cast<char*>(word.c_str()));
  argv.push_back(nullptr);
  const pid_t parent = getpid();
  const pid_t child = errors.open() ? fork() : -1;
  if (child < 0)
    return Error{Fault::io,
                 fmt::format("an analysis cannot be started ({})", std::strerror(errno))};
  if (child == 0)
    become({.argv = argv.data(),
            .folder = folder.c_str(),
            .answer = answer.empty() ? "/dev/null" : answer.c_str(),
            .errors = errors.writing()},
           parent);
  errors.close_writing();
  std::string text, last;
  bool asked_to_end = false;
  auto ending = std::chrono::steady_clock::time_point{};
  while (true) {
    pollfd waiting{errors.reading(), POLLIN, 0};
    const int ready = poll(&waiting, 1, asked_each_ms);
    if (ready > 0) {
      char bytes[4096];
      const auto count = read(errors.reading(), bytes, sizeof bytes);
      if (count <= 0) break;
      text.append(bytes, static_cast<std::size_t>(count));
      take_lines(text, line, last);
    }
    const auto now = std::chrono::steady_clock::now();
    if (!asked_to_end && !go_on()) {
      asked_to_end = true;
      ending = now;
      kill(child, SIGTERM);
    }
    if (asked_to_end && now - ending > patience) kill(child, SIGKILL);
  }
  if (!text.empty()) last = text;
  const int status = wait_for(child);
  return ChildEnd{asked_to_end ? -1 : status, last};
}

}  // namespace goodside::serve
