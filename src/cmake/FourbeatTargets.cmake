# SPDX-License-Identifier: GPL-3.0-or-later
# The compile options every target shares, and the two functions that make parts and tests.

add_library(fourbeat_options INTERFACE)
target_compile_features(fourbeat_options INTERFACE cxx_std_20)
# Baseline x86-64 and no contraction: outputs are byte-identical on any such processor.
target_compile_options(fourbeat_options INTERFACE -ffp-contract=off)
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  target_compile_options(fourbeat_options INTERFACE -fpch-preprocess)   # ccache needs it
endif()
# Lines and functions are enough for a backtrace, and a third quicker to build than all variables;
# a Debug build has them.
target_compile_options(fourbeat_options INTERFACE $<$<CONFIG:RelWithDebInfo>:-g1>)
# No absolute source path in a binary's messages.
target_compile_options(fourbeat_options INTERFACE "-fmacro-prefix-map=${PROJECT_SOURCE_DIR}/=")
if(FOURBEAT_SANITIZE STREQUAL "address")
  target_compile_options(fourbeat_options INTERFACE
    -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
    $<$<CONFIG:RelWithDebInfo>:-O1>)
  target_link_options(fourbeat_options INTERFACE -fsanitize=address,undefined)
elseif(FOURBEAT_SANITIZE STREQUAL "thread")
  target_compile_options(fourbeat_options INTERFACE -fsanitize=thread)
  target_link_options(fourbeat_options INTERFACE -fsanitize=thread)
endif()

# Several sources a compile: what their headers cost is paid once, and all is built in two thirds
# of the time. Not with Clang: version 14 loses functions between a precompiled header and several
# sources. So clang-tidy compiles each source alone (tests/run): that each includes what it uses, and
# what a compile of several cannot be warned of, is told there.
set(several OFF)
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  set(several ON)
endif()
option(CMAKE_UNITY_BUILD "Compile several sources at once" ${several})
set(CMAKE_UNITY_BUILD_BATCH_SIZE 6 CACHE STRING "Sources a compile")

add_library(fourbeat_warnings INTERFACE)
target_compile_options(fourbeat_warnings INTERFACE -Wall -Wextra -Wconversion -Wshadow
  $<$<BOOL:${FOURBEAT_WERROR}>:-Werror>)
if(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  # GCC 12 sees uninitialised reads in the destructors of empty std::optional (GCC bug 80635).
  target_compile_options(fourbeat_warnings INTERFACE -Wno-maybe-uninitialized)
  if(CMAKE_UNITY_BUILD)   # of the names of another source's own
    target_compile_options(fourbeat_warnings INTERFACE -Wno-shadow -Wno-subobject-linkage)
  endif()
endif()

# For code that goes over no samples: optimised less, it builds a third quicker.
add_library(fourbeat_no_samples INTERFACE)
target_compile_options(fourbeat_no_samples INTERFACE $<$<CONFIG:RelWithDebInfo>:-O1>)

find_program(CCACHE_PROGRAM ccache)
if(CCACHE_PROGRAM AND NOT CMAKE_CXX_COMPILER_LAUNCHER)
  # Precompiled headers and ccache agree only under these sloppiness settings (ccache manual,
  # "Precompiled headers"). Not under those that trust a header's time: a header that changes under a
  # running compile would be remembered with what it was before.
  set(CMAKE_CXX_COMPILER_LAUNCHER "${CMAKE_COMMAND};-E;env;CCACHE_SLOPPINESS=pch_defines,time_macros;CCACHE_BASEDIR=${PROJECT_SOURCE_DIR};CCACHE_NOHASHDIR=1;${CCACHE_PROGRAM}")
endif()
find_program(MOLD_PROGRAM mold)
if(MOLD_PROGRAM)
  target_link_options(fourbeat_options INTERFACE -fuse-ld=mold)
endif()

# fourbeat_part(NAME [NO_SAMPLES] HEADERS … SOURCES … [LINK …] [PRIVATE_LINK …])
# A part of the core: library fourbeat_NAME, alias fourbeat::NAME. HEADERS are relative to
# include/fourbeat/NAME, SOURCES to the caller's folder.
# LINK names what its public headers show; PRIVATE_LINK what only its sources use; PRECOMPILE headers
# of parts below that nearly all its sources include. NO_SAMPLES: it goes over no samples.
function(fourbeat_part name)
  cmake_parse_arguments(PARSE_ARGV 1 PART "NO_SAMPLES" "" "HEADERS;SOURCES;LINK;PRIVATE_LINK;PRECOMPILE")
  add_library(fourbeat_${name} STATIC ${PART_SOURCES})
  add_library(fourbeat::${name} ALIAS fourbeat_${name})
  target_compile_features(fourbeat_${name} PUBLIC cxx_std_20)
  set_target_properties(fourbeat_${name} PROPERTIES EXPORT_NAME ${name}
    POSITION_INDEPENDENT_CODE ON)
  list(TRANSFORM PART_HEADERS PREPEND "${PROJECT_SOURCE_DIR}/include/fourbeat/${name}/"
    OUTPUT_VARIABLE headers)
  target_sources(fourbeat_${name} PUBLIC FILE_SET HEADERS
    BASE_DIRS "${PROJECT_SOURCE_DIR}/include" FILES ${headers})
  target_link_libraries(fourbeat_${name}
    PUBLIC ${PART_LINK} $<BUILD_INTERFACE:fourbeat_options>
    PRIVATE ${PART_PRIVATE_LINK} $<BUILD_INTERFACE:fourbeat_warnings>)
  if(PART_NO_SAMPLES)
    target_link_libraries(fourbeat_${name} PRIVATE $<BUILD_INTERFACE:fourbeat_no_samples>)
  endif()
  if(FOURBEAT_FUZZ)
    target_compile_options(fourbeat_${name} PRIVATE -fsanitize=fuzzer-no-link,address,undefined)
  endif()
  target_precompile_headers(fourbeat_${name} PRIVATE
    <algorithm> <cmath> <cstdint> <filesystem> <map> <memory> <optional> <span> <string>
    <string_view> <variant> <vector> ${PART_PRECOMPILE})
endfunction()

# fourbeat_test(NAME [DEEP] [APART] SOURCES … LINK …)
# One test program a part, run by CTest as NAME. APART: its sources are compiled one by one, as each
# has sounds and rates of its own under the same names. DEEP: its cases tagged [deep] are a test of
# their own, NAME_deep, which only tests/run --deep runs: those that take seconds and guard what a
# quicker case looks at already.
function(fourbeat_test name)
  cmake_parse_arguments(PARSE_ARGV 1 TEST "DEEP;APART" "" "SOURCES;LINK")
  add_executable(test_${name} ${TEST_SOURCES})
  target_link_libraries(test_${name} PRIVATE ${TEST_LINK} fourbeat_test_main
    fourbeat_warnings)
  target_precompile_headers(test_${name} REUSE_FROM fourbeat_test_main)
  if(TEST_APART)
    set_target_properties(test_${name} PROPERTIES UNITY_BUILD OFF)
  endif()
  set(tests ${name})
  if(TEST_DEEP)
    add_test(NAME ${name} COMMAND test_${name} "~[deep]~[.]")
    add_test(NAME ${name}_deep COMMAND test_${name} "[deep]~[.]")
    set_tests_properties(${name}_deep PROPERTIES LABELS deep)
    list(APPEND tests ${name}_deep)
  else()
    add_test(NAME ${name} COMMAND test_${name})
  endif()
  set_tests_properties(${tests} PROPERTIES TIMEOUT 600
    ENVIRONMENT "FOURBEAT_DATA=${PROJECT_SOURCE_DIR}/shared")
  if(TEST_DEEP)   # under sanitizers it takes some times as long
    set_tests_properties(${name}_deep PROPERTIES TIMEOUT 1800)
  endif()
endfunction()
