#include "cli/commands.hpp"

namespace calcant::cli {

std::vector<Group> all_commands() {
  return {
      {"All of it, in the browser", {desk_command()}},
      {"The organ", {new_command(), spec_command(), sounding_command(), couplers_command()}},
      {"A Sunday", {prepare_command(), after_command(), after_list_command()}},
      {"The ear", {ear_command(), room_command(), trial_command()}},
      {"The music", {fit_command(), feet_command()}},
      {"Choosing",
       {choose_command(), buildup_command(), weigh_command(), advise_command(), save_command(), saved_command(),
        forget_command()}},
      {"Hearing it", {hear_command(), compare_command()}},
      {"Care",
       {measure_command(), measure_how_command(), measure_list_command(), measure_compare_command(),
        measure_page_command(), fault_command(), fault_list_command(), fault_close_command(), tuner_list_command(),
        visit_command(), book_export_command(), book_copy_command()}},
  };
}

}  // namespace calcant::cli
