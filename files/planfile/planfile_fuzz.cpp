// Any bytes are read as a plan for the village organ or refused with a sentence; what was read is written and read again as
// the same plan.
#include <cstddef>
#include <cstdint>
#include <cstdlib>

#include "files/organfile/organfile.hpp"
#include "files/planfile/planfile.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace calcant;
  static const auto village = read_organ_folder("demo/village");  // fuzz/run.sh starts from the project's root
  if (!village) std::abort();
  const auto plan = read_plan({reinterpret_cast<const char*>(data), size}, "plan.json", village->organ);
  if (!plan) {
    if (plan.error().message.empty()) std::abort();
    return 0;
  }
  const std::string written = write_plan(village->organ, *plan);
  const auto again = read_plan(written, "again.json", village->organ);
  if (!again || write_plan(village->organ, *again) != written) std::abort();
  return 0;
}
