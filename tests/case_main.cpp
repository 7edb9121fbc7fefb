// run_case PROGRAM_FOLDER CASE_FILE: runs one acceptance case. Exit status 0 when all is as it says, 1 when
// not, 77 when something it needs is not here.
#include <fmt/format.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "tests/case_runner.hpp"

int main(int argc, char** argv) {
  using namespace calcant;
  if (argc != 3) {
    fmt::print(stderr, "run_case PROGRAM_FOLDER CASE_FILE\n");
    return 2;
  }
  const std::string file = argv[2];
  std::ifstream in(file);
  std::ostringstream text;
  text << in.rdbuf();
  const auto parsed = acceptance::parse_case(text.str(), file);
  if (!in || !parsed) {
    fmt::print("{}\n", parsed ? file + " cannot be read" : sentence(parsed.error()));
    return 1;
  }
  for (const std::string& need : parsed->needs) {
    if (std::filesystem::exists(need)) continue;
    fmt::print("SKIPPED: {} is not here\n", need);
    return 77;
  }

  std::string folder = std::filesystem::temp_directory_path() / "calcant-case-XXXXXX";
  if (mkdtemp(folder.data()) == nullptr) {
    fmt::print("no folder for the case can be made in {}\n", std::filesystem::temp_directory_path().string());
    return 1;
  }
  bool good = true;
  for (const acceptance::Step& step : parsed->steps) {
    const auto answer = acceptance::run(step.command.text, argv[1], folder);
    for (const std::string& fault : acceptance::faults(step, answer, folder)) {
      if (good) fmt::print("$ {}\n", step.command.text);
      fmt::print("{}:{}\n", file, fault);
      good = false;
    }
    if (!good) break;
  }
  std::filesystem::remove_all(folder);
  return good ? 0 : 1;
}
