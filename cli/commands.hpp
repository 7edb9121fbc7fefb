// Every command of the program, in the groups and the order of `calcant --help`. One file per command (or small group
// of commands that belong together) gives the functions declared here.
#pragma once

#include <vector>

#include "cli/help.hpp"

namespace calcant::cli {

[[nodiscard]] Command spec_command();      // spec.cpp
[[nodiscard]] Command sounding_command();  // sounding.cpp
[[nodiscard]] Command ear_command();       // ear.cpp
[[nodiscard]] Command room_command();      // room.cpp
[[nodiscard]] Command new_command();       // new.cpp
[[nodiscard]] Command couplers_command();  // couplers.cpp
[[nodiscard]] Command prepare_command();   // prepare.cpp
[[nodiscard]] Command after_command();     // after.cpp
[[nodiscard]] Command after_list_command();

[[nodiscard]] Command fit_command();  // fit.cpp
[[nodiscard]] Command feet_command();
[[nodiscard]] Command weigh_command();  // weigh.cpp
[[nodiscard]] Command advise_command();
[[nodiscard]] Command save_command();  // saved.cpp
[[nodiscard]] Command saved_command();
[[nodiscard]] Command forget_command();
[[nodiscard]] Command trial_command();   // trial.cpp
[[nodiscard]] Command choose_command();  // choose.cpp
[[nodiscard]] Command buildup_command();
[[nodiscard]] Command hear_command();  // hear.cpp
[[nodiscard]] Command compare_command();
[[nodiscard]] Command measure_command();  // measure.cpp
[[nodiscard]] Command measure_how_command();
[[nodiscard]] Command measure_list_command();  // kept_measurings.cpp
[[nodiscard]] Command measure_compare_command();
[[nodiscard]] Command measure_page_command();
[[nodiscard]] Command visit_command();  // book.cpp
[[nodiscard]] Command book_export_command();
[[nodiscard]] Command book_copy_command();
[[nodiscard]] Command fault_command();  // fault.cpp
[[nodiscard]] Command fault_list_command();
[[nodiscard]] Command fault_close_command();
[[nodiscard]] Command tuner_list_command();
[[nodiscard]] Command desk_command();  // desk.cpp

[[nodiscard]] std::vector<Group> all_commands();

}  // namespace calcant::cli
