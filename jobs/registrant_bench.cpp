// A changed wish on the village organ, answered from what is kept. Each of the wishes is asked of a registrant of its own,
// who was asked for something soft before and nothing else, so that no wish profits from another.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <chrono>
#include <ctime>
#include <memory>
#include <string>
#include <vector>

#include "jobs/registrant.hpp"

namespace calcant {
namespace {

using Clock = std::chrono::steady_clock;

ChooseRequest wish(const std::string& level, Colour colour = Colour::any, const std::string& must = {},
                   const std::string& must_not = {}) {
  ChooseRequest out;
  out.on = "Great";
  out.level = level;
  out.colour = colour;
  out.must = must;
  out.must_not = must_not;
  return out;
}

struct Asked {
  const char* name;
  ChooseRequest request;
};

std::vector<Asked> a_dozen_and_more() {
  ChooseRequest louder = wish("louder");
  louder.from = "Clarabella 8, Principal 4";
  ChooseRequest softer = wish("softer");
  softer.from = "Open Diapason 8, Principal 4, Swell to Great, Violin Diapason 8";
  ChooseRequest phon;
  phon.on = "Great";
  phon.phon = 83;
  return {{"very_soft", wish("very soft")},
          {"moderate", wish("moderate")},
          {"loud", wish("loud")},
          {"full", wish("full")},
          {"full_brighter", wish("full", Colour::brighter)},
          {"soft_darker", wish("soft", Colour::darker)},
          {"moderate_brighter", wish("moderate", Colour::brighter)},
          {"moderate_darker", wish("moderate", Colour::darker)},
          {"loud_brighter", wish("loud", Colour::brighter)},
          {"loud_darker", wish("loud", Colour::darker)},
          {"must", wish("moderate", Colour::brighter, "Principal 4")},
          {"not", wish("moderate", Colour::any, "", "Clarabella 8, Open Diapason 8")},
          {"must_coupler", wish("loud", Colour::darker, "Swell to Great")},
          {"singers", wish("enough for 40")},
          {"singers_brighter", wish("enough for 120", Colour::brighter)},
          {"shade_more", wish("a shade more than Open Diapason 8, Principal 4")},
          {"phon", phon},
          {"louder", louder},
          {"softer", softer}};
}

// By the clock, on two threads; the worst is what a player waits for. `processor` is of all threads.
void changed_wishes(benchmark::State& state) {
  const auto context = std::make_shared<const OrganContext>(std::move(*open_organ("demo/village")));
  double worst = 0;
  double processor = 0;
  double first = 0;
  for (auto _ : state) {
    for (const auto& [name, request] : a_dozen_and_more()) {
      Registrant registrant{context};
      const auto opened = Clock::now();
      benchmark::DoNotOptimize(registrant.choose(wish("soft"), Work{2}));
      first = std::max(first, std::chrono::duration<double>(Clock::now() - opened).count());
      const auto start = Clock::now();
      const std::clock_t busy = std::clock();
      const auto answer = registrant.choose(request, Work{2});
      const double took = std::chrono::duration<double>(Clock::now() - start).count();
      const double work = static_cast<double>(std::clock() - busy) / CLOCKS_PER_SEC;
      if (!answer) {
        state.SkipWithError(answer.error().message.c_str());
        return;
      }
      state.counters[std::string{name} + "_ms"] = 1000 * took;
      state.counters[std::string{name} + "_processor_ms"] = 1000 * work;
      worst = std::max(worst, took);
      processor = std::max(processor, work);
    }
  }
  state.counters["worst_ms"] = 1000 * worst;
  state.counters["worst_processor_ms"] = 1000 * processor;
  state.counters["first_wish_ms"] = 1000 * first;
}
BENCHMARK(changed_wishes)->Unit(benchmark::kSecond)->Iterations(1);

}  // namespace
}  // namespace calcant
