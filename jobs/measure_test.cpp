// A stop of the demo's village organ, played by the generator of invented recordings (no code shared with the analysis).
#include "jobs/measure.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "engine/measuring/testing/invented.hpp"
#include "files/audio/writer.hpp"
#include "jobs/faults.hpp"
#include "jobs/text_file.hpp"

namespace calcant {
namespace {

namespace fs = std::filesystem;
using testing::HasSubstr;

class MeasureJob : public testing::Test {
 protected:
  MeasureJob()
      : folder_(fs::temp_directory_path() / ("calcant-measure-" + std::to_string(getpid()) + "-" +
                                             testing::UnitTest::GetInstance()->current_test_info()->name())) {
    fs::remove_all(folder_);
    fs::create_directories(folder_);
    fs::copy_file("demo/village/organ.toml", folder_ / "organ.toml");
  }
  ~MeasureJob() override { fs::remove_all(folder_); }

  // The stop played from `low` to `high`, one key every two seconds; keys of `silent` give no sound. Every pipe stands
  // `cents` off its pitch at `celsius`.
  fs::path play(const OrganContext& organ, const std::string& stop, int low, int high, double celsius = 15.0,
                double cents = 0.0, const std::vector<int>& silent = {}) {
    constexpr int rate = 22050;
    std::vector<float> sound(static_cast<std::size_t>((3.0 + 2.0 * (high - low + 1)) * rate), 0.0F);
    const auto plan = plan_of_stop(organ, stop, Celsius{celsius});
    EXPECT_TRUE(plan);
    double at = 1.0;
    for (const PlannedKey& k : plan->keys) {
      if (k.key.midi < low || k.key.midi > high) continue;
      invented::Pipe p;
      p.hertz = k.pipes.front().value() * std::exp2(cents / 1200.0);
      p.on = at;
      p.off = at + 1.3;
      p.wander_cents = 0.2;
      if (std::ranges::find(silent, k.key.midi) == silent.end())
        invented::add(sound, rate, p, static_cast<std::uint64_t>(k.key.midi));
      at += 2.0;
    }
    invented::add_white(sound, -65.0, 9);
    const fs::path path = folder_ / (stop + ".wav");
    EXPECT_TRUE(write_audio(path, rate, 1, sound));
    return path;
  }
  Result<StopMeasured> measured(const OrganContext& organ, MeasureRequest request, double celsius = 15.0) {
    return measure_stop(organ, request, Celsius{celsius}, {});
  }

  fs::path folder_;
};

TEST_F(MeasureJob, DecisionsAreWrittenCorrectedAndHeldTo) {
  const auto organ = open_organ(folder_);
  ASSERT_TRUE(organ) << sentence(organ.error());
  MeasureRequest request;
  request.recording = play(*organ, "gt-principal", 60, 66);
  request.stop = "Great: Principal 4";
  request.decisions = folder_ / "run.txt";
  const auto first = measured(*organ, request);
  ASSERT_TRUE(first) << sentence(first.error());
  EXPECT_EQ(first->run.notes[26].state, NoteState::speaks);  // D4

  std::string text = read_text_file(*request.decisions, 1 << 20).value();
  const std::size_t line = text.find("  D4 ");
  ASSERT_NE(line, std::string::npos);
  text.replace(line, text.find('\n', line) - line, "! D4 dead");
  ASSERT_TRUE(write_text_file(*request.decisions, text));
  const auto second = measured(*organ, request);
  ASSERT_TRUE(second) << sentence(second.error());
  EXPECT_EQ(second->by_hand, 1);
  EXPECT_EQ(second->run.notes[26].state, NoteState::dead);
  EXPECT_EQ(second->run.notes[27].state, NoteState::speaks);
  EXPECT_THAT(read_text_file(*request.decisions, 1 << 20).value(), HasSubstr("! D4 "));
  EXPECT_EQ(read_text_file(request.decisions->string() + ".before", 1 << 20).value(), text);
}

}  // namespace
}  // namespace calcant
