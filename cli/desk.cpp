#include <fmt/format.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <cstdlib>
#include <thread>

#include "cli/commands.hpp"
#include "cli/shared.hpp"
#include "desk/serve.hpp"

namespace calcant::cli {
namespace {

bool has_display() { return std::getenv("DISPLAY") != nullptr || std::getenv("WAYLAND_DISPLAY") != nullptr; }

// The desktop's own way to open an address. In a group of its own, so that Ctrl-C ends the desk and not the browser.
bool open_browser(const std::string& address) {
  std::string program = "xdg-open";
  std::string argument = address;
  char* const words[] = {program.data(), argument.data(), nullptr};
  posix_spawnattr_t how;
  sigset_t none;
  sigemptyset(&none);
  posix_spawnattr_init(&how);
  posix_spawnattr_setsigmask(&how, &none);
  posix_spawnattr_setflags(&how, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK);
  pid_t child = 0;
  const int fault = ::posix_spawnp(&child, program.c_str(), nullptr, &how, words, environ);
  posix_spawnattr_destroy(&how);
  if (fault != 0) return false;
  std::thread([child] { ::waitpid(child, nullptr, 0); }).detach();
  return true;
}

}  // namespace

Command desk_command() {
  Command c;
  c.name = "desk";
  c.summary = "Open the organ folder in the browser: Sunday's board, faults, choosing, a piece, the pipes.";
  c.about =
      "Serves one organ folder to the browser of this computer, and to nobody else: nothing is opened to the network, "
      "and the address carries a secret that is another at every start. What is typed is saved in the folder as it is "
      "typed. A folder without an organ begins with a pasted specification. Ctrl-C closes the desk.";
  c.arguments = {{"FOLDER", "an organ folder, or an empty one for a new organ"}};
  c.options = {{"--port", "N", fmt::format("another port than {}; 0: any that is free", desk::usual_port), ""},
               {"--no-browser", "", "only print the address"}};
  c.examples = {{"calcant desk demo/village", "The demo organ's desk."}};
  c.reports = false;
  c.run = [](const Given& given, Console& console) -> Result<Shown> {
    const auto port = given.whole("--port", 0, 65535);
    if (!port) return tl::unexpected<Error>(port.error());
    desk::ServeSettings settings;
    settings.folder = *given.text("FOLDER");
    if (*port) settings.port = static_cast<std::uint16_t>(**port);
    settings.version = CALCANT_VERSION;
    settings.today = today;
    const bool browser = !given.has("--no-browser") && has_display();
    const auto served = desk::serve(
        settings,
        [&](const std::string& address) {
          console.err << "The desk is open at\n\n    " << address << "\n\n";
          if (!browser || !open_browser(address)) console.err << "Open that address in a browser on this computer. ";
          console.err << "Ctrl-C closes the desk.\n" << std::flush;
        },
        console.work);
    if (!served) return tl::unexpected<Error>(served.error());
    return shown("The desk is closed.\n", "");
  };
  return c;
}

}  // namespace calcant::cli
