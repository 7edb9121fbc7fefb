// calcant: words in, text or JSON out.
//
// How a command is added:
//  1. jobs/NAME.hpp and .cpp: the job itself. A function that takes an OrganContext (jobs/context.hpp), what was asked
//     and, where it is long, a Work; it gives back a Result of a value struct. Beside it `std::string json_text(...)`:
//     the shape that the desk and the command line share. <nlohmann/json.hpp> is heavy: only in the job's .cpp, with
//     "jobs/json.hpp" (Json, dump, rounded).
//     A new engine or file part it uses is named in jobs/CMakeLists.txt.
//  2. cli/NAME.cpp: `Command NAME_command()`: name, one-line summary, about, arguments, options, examples, and a `run`
//     that reads Given, calls the job and returns shown(text, json). Options that several commands take are in
//     shared.hpp (ORGAN, --on, --temperature, --at, --people): use joined({...}).
//  3. cli/commands.hpp declares it and commands.cpp puts it in its group. That list is all there is to register.
//  4. tests/cases holds its acceptance cases: a command line, and what must come out.
// Parsing, --help, --json, hints of the nearest name, exit codes and the form of errors come from the description, and
// no command does them itself. A command whose name is two words ("measure compare") is a command of its own.
// Commands never write to standard output; questions go through Console (only where can_ask), progress through
// console.work.
#include <unistd.h>

#include <csignal>
#include <iostream>
#include <stop_token>
#include <string>
#include <thread>
#include <vector>

#include "cli/commands.hpp"
#include "cli/program.hpp"
#include "cli/progress.hpp"

namespace {

// The first Ctrl-C (or a polite kill) asks the work to stop and gives it a moment; what does not stop is ended. Signals are taken by a
// thread that waits for them, so nothing runs inside a signal handler.
void watch_for_interrupt(std::stop_source stop) {
  sigset_t signals;
  sigemptyset(&signals);
  sigaddset(&signals, SIGINT);
  sigaddset(&signals, SIGTERM);
  pthread_sigmask(SIG_BLOCK, &signals, nullptr);
  std::thread([stop, signals]() mutable {
    int which = 0;
    sigwait(&signals, &which);
    stop.request_stop();
    const timespec grace{2, 0};
    sigtimedwait(&signals, nullptr, &grace);
    _exit(calcant::cli::stopped);
  }).detach();
}

}  // namespace

int main(int argc, char** argv) {
  using namespace calcant::cli;
  std::signal(SIGPIPE, SIG_IGN);  // a reader that goes away is a write that fails, and told as one
  std::stop_source stop;
  watch_for_interrupt(stop);

  Progress progress(std::cerr, isatty(STDERR_FILENO) == 1);
  Console console{std::cin, std::cout, std::cerr, isatty(STDIN_FILENO) == 1 && isatty(STDERR_FILENO) == 1, {}};
  console.work.threads = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
  console.work.stop = stop.get_token();
  console.work.progress = [&progress](double share, std::string_view what) { progress(share, what); };
  return run_program(all_commands(), std::vector<std::string>(argv + 1, argv + argc), console);
}
