# One way to declare a module and one way to declare its tests.
#
#   goodside_module(metal HEADERS deposit.hpp SOURCES deposit.cpp USES base)
#       makes the library goodside_metal, its alias goodside::metal and a header set whose headers are each
#       compiled alone (target all_verify_interface_header_sets). USES is the module's whole dependency list
#       inside the project; tools/check_layers holds it against the includes. PRECOMPILE names a library's heavy
#       header that most of its files include.
#   goodside_test(metal SOURCES deposit_test.cpp USES metal [LIBRARIES ...] [LABEL slow|soak] [FIXTURE name])
#       makes the program test_metal and hands its tests to CTest, after the fixture's setup. Without a label they are fast: every build
#       runs them, the sanitised ones too. `slow` tests run in the release build alone, `soak` tests only when
#       asked for (./dev soak).

option(BUILD_TESTING "Build the tests" ON)
option(GOODSIDE_BENCH "Build the benchmark programs" OFF)
option(GOODSIDE_FUZZ "Build the fuzzing programs; takes clang" OFF)
option(GOODSIDE_PRECOMPILE "Precompile the standard headers for every module: a file that forgets an include passes" OFF)

# What a test program adds to the modules that it tests is compiled for a short compilation, not for speed.
set(goodside_test_options $<$<CONFIG:Release>:-O1>)

set(CMAKE_CXX_STANDARD 20)
set(CMAKE_CXX_STANDARD_REQUIRED ON)
set(CMAKE_CXX_EXTENSIONS OFF)
set(CMAKE_EXPORT_COMPILE_COMMANDS ON)
if(NOT CMAKE_RUNTIME_OUTPUT_DIRECTORY)
  set(CMAKE_RUNTIME_OUTPUT_DIRECTORY "${PROJECT_BINARY_DIR}/bin")
endif()

# A compiler cache is used where there is one, and never asked for.
find_program(GOODSIDE_CCACHE ccache)
mark_as_advanced(GOODSIDE_CCACHE)
if(GOODSIDE_CCACHE AND NOT CMAKE_CXX_COMPILER_LAUNCHER)
  set(CMAKE_C_COMPILER_LAUNCHER "${GOODSIDE_CCACHE}")
  set(CMAKE_CXX_COMPILER_LAUNCHER "${GOODSIDE_CCACHE}")
endif()

find_package(PkgConfig REQUIRED)
find_package(Threads REQUIRED)
find_package(fmt REQUIRED)

add_library(goodside_strict INTERFACE)
add_library(goodside::strict ALIAS goodside_strict)
target_compile_options(goodside_strict INTERFACE
  -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wsign-conversion -Wdouble-promotion
  -Wold-style-cast -Woverloaded-virtual -Wnon-virtual-dtor -Wnull-dereference -Wundef
  -ffp-contract=off)

# Through a precompiled header GCC 12 no longer sees that <string> is the system's, and warns of literals copied past the
# string that takes them. The preset dev, without one, keeps these warnings.
if(GOODSIDE_PRECOMPILE AND CMAKE_CXX_COMPILER_ID STREQUAL GNU)
  target_compile_options(goodside_strict INTERFACE -Wno-array-bounds -Wno-stringop-overflow
    -Wno-stringop-overread -Wno-restrict)
endif()

# The headers that nearly every file asks for, once for all modules and once, with GoogleTest, for all tests.
set(goodside_common_headers
  <algorithm> <array> <cmath> <complex> <cstdint> <functional> <map> <memory> <numbers> <optional> <set> <span>
  <string> <string_view> <utility> <vector> <fmt/format.h>)

function(goodside_precompiled name)
  file(CONFIGURE OUTPUT "${PROJECT_BINARY_DIR}/precompiled/${name}.cpp" CONTENT "")
  add_library(${name} OBJECT "${PROJECT_BINARY_DIR}/precompiled/${name}.cpp")
  target_link_libraries(${name} PRIVATE goodside::strict fmt::fmt ${ARGN})
  target_precompile_headers(${name} PRIVATE ${goodside_common_headers})
endfunction()

if(GOODSIDE_PRECOMPILE)
  goodside_precompiled(goodside_precompiled)
endif()
if(BUILD_TESTING)
  find_package(GTest REQUIRED)
  include(GoogleTest)
  goodside_precompiled(goodside_precompiled_tests GTest::gmock)
  target_precompile_headers(goodside_precompiled_tests PRIVATE <gtest/gtest.h> <gmock/gmock.h>)
  target_compile_options(goodside_precompiled_tests PRIVATE ${goodside_test_options})
endif()

function(goodside_module name)
  cmake_parse_arguments(module "" "" "HEADERS;SOURCES;USES;PRECOMPILE" ${ARGN})
  if(module_SOURCES)
    add_library(goodside_${name} STATIC ${module_SOURCES})
    set(scope PUBLIC)
    target_link_libraries(goodside_${name} PRIVATE goodside::strict)
    if(GOODSIDE_PRECOMPILE AND module_PRECOMPILE)
      target_precompile_headers(goodside_${name} PRIVATE ${goodside_common_headers} ${module_PRECOMPILE})
    elseif(GOODSIDE_PRECOMPILE)
      target_precompile_headers(goodside_${name} REUSE_FROM goodside_precompiled)
    endif()
  else()
    add_library(goodside_${name} INTERFACE)
    set(scope INTERFACE)
  endif()
  add_library(goodside::${name} ALIAS goodside_${name})
  target_sources(goodside_${name} ${scope} FILE_SET HEADERS
    BASE_DIRS ${PROJECT_SOURCE_DIR}/src FILES ${module_HEADERS})
  target_link_libraries(goodside_${name} ${scope} fmt::fmt)
  foreach(used IN LISTS module_USES)
    target_link_libraries(goodside_${name} ${scope} goodside_${used})
  endforeach()
  set_target_properties(goodside_${name} PROPERTIES VERIFY_INTERFACE_HEADER_SETS ON)
endfunction()

function(goodside_test name)
  cmake_parse_arguments(test "" "LABEL;FIXTURE" "SOURCES;USES;LIBRARIES" ${ARGN})
  add_executable(test_${name} ${test_SOURCES})
  target_include_directories(test_${name} PRIVATE ${PROJECT_SOURCE_DIR}/tests)
  target_compile_definitions(test_${name} PRIVATE
    GOODSIDE_SOURCE_DIR="${PROJECT_SOURCE_DIR}")
  foreach(used IN LISTS test_USES)
    target_link_libraries(test_${name} PRIVATE goodside_${used})
  endforeach()
  target_link_libraries(test_${name} PRIVATE
    goodside::strict GTest::gtest_main GTest::gmock ${test_LIBRARIES})
  target_compile_options(test_${name} PRIVATE ${goodside_test_options})
  target_precompile_headers(test_${name} REUSE_FROM goodside_precompiled_tests)
  set(properties TIMEOUT 600)
  if(test_LABEL)
    list(APPEND properties LABELS ${test_LABEL})
  endif()
  if(test_FIXTURE)
    list(APPEND properties FIXTURES_REQUIRED ${test_FIXTURE})
  endif()
  gtest_discover_tests(test_${name} DISCOVERY_TIMEOUT 60 PROPERTIES ${properties})
endfunction()
