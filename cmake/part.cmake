# calcant_part(NAME [USES part...] [LIBRARIES target...])
#
# One folder, one part: every .cpp in the folder belongs to it. X_test.cpp goes into the part's test program, X_bench.cpp
# into its benchmark program, and each X_fuzz.cpp becomes a fuzz target of its own, X_fuzz, started from the files in
# fuzz/seeds/X/. USES names the parts it may include from (checked by tests/layers.cmake);
# LIBRARIES the outside libraries only its own sources see. Tests and benches run from the project's root, so that demo/
# and ../shared are found by relative paths.
function(calcant_part name)
  cmake_parse_arguments(PART "" "" "USES;LIBRARIES;TEST_LIBRARIES" ${ARGN})
  file(GLOB sources CONFIGURE_DEPENDS ${CMAKE_CURRENT_SOURCE_DIR}/*.cpp)
  set(tests ${sources})
  set(benches ${sources})
  list(FILTER tests INCLUDE REGEX "_test\\.cpp$")
  list(FILTER benches INCLUDE REGEX "_bench\\.cpp$")
  set(fuzzers ${sources})
  list(FILTER fuzzers INCLUDE REGEX "_fuzz\\.cpp$")
  list(FILTER sources EXCLUDE REGEX "(_(test|bench|fuzz)|/main)\\.cpp$")  # a program names its main.cpp itself

  list(TRANSFORM PART_USES PREPEND calcant_ OUTPUT_VARIABLE uses)
  if(sources)
    add_library(calcant_${name} STATIC ${sources})
    target_include_directories(calcant_${name} PUBLIC ${PROJECT_SOURCE_DIR})
    target_link_libraries(calcant_${name}
      PUBLIC ${uses} tl::expected fmt::fmt PRIVATE calcant_warnings ${PART_LIBRARIES} Threads::Threads)
  else()
    add_library(calcant_${name} INTERFACE)
    target_include_directories(calcant_${name} INTERFACE ${PROJECT_SOURCE_DIR})
    target_link_libraries(calcant_${name} INTERFACE ${uses} tl::expected fmt::fmt)
  endif()
  list(JOIN PART_USES "," used)
  file(RELATIVE_PATH folder ${PROJECT_SOURCE_DIR} ${CMAKE_CURRENT_SOURCE_DIR})
  list(TRANSFORM PART_TEST_LIBRARIES REPLACE "^calcant_" "" OUTPUT_VARIABLE tested_with)
  list(JOIN tested_with "," tested_with)
  set_property(GLOBAL APPEND PROPERTY CALCANT_PARTS "${name}|${folder}|${used}|${tested_with}")

  if(CALCANT_TESTS AND tests)
    add_executable(${name}_test ${tests})
    target_link_libraries(${name}_test
      PRIVATE calcant_${name} calcant_warnings ${PART_LIBRARIES} ${PART_TEST_LIBRARIES} GTest::gmock GTest::gtest_main)
    gtest_discover_tests(${name}_test TEST_PREFIX "${name}." DISCOVERY_MODE PRE_TEST
      WORKING_DIRECTORY ${PROJECT_SOURCE_DIR} PROPERTIES LABELS "unit" TIMEOUT 1800)
    set_property(GLOBAL APPEND PROPERTY CALCANT_test_PROGRAMS ${name}_test)
  endif()
  if(CALCANT_BENCHES AND benches)
    add_executable(${name}_bench ${benches})
    target_link_libraries(${name}_bench
      PRIVATE calcant_${name} calcant_warnings ${PART_LIBRARIES} ${PART_TEST_LIBRARIES} benchmark::benchmark_main)
    set_property(GLOBAL APPEND PROPERTY CALCANT_bench_PROGRAMS ${name}_bench)
  endif()
  if(CALCANT_FUZZ)
    foreach(source ${fuzzers})
      cmake_path(GET source STEM target)
      add_executable(${target} ${source})
      target_link_libraries(${target} PRIVATE calcant_${name} calcant_warnings ${PART_LIBRARIES} ${PART_TEST_LIBRARIES})
      target_link_options(${target} PRIVATE -fsanitize=fuzzer)
      set_property(GLOBAL APPEND PROPERTY CALCANT_FUZZERS ${target})
    endforeach()
  endif()
endfunction()
