# A floor is one folder under src/ and one static library, rookery_<folder>. Its sources are
# whatever the folder holds: the folder is the unit, so no list has to be kept beside it.
#
#   rookery_floor(jpeg USES base LINKS PkgConfig::TURBOJPEG [ASIO])
#
# USES names floors below; LINKS other libraries; ASIO takes the precompiled header with Boost.Asio.
function(rookery_floor name)
  cmake_parse_arguments(ARG "ASIO" "" "USES;LINKS" ${ARGN})
  file(GLOB sources CONFIGURE_DEPENDS "${CMAKE_CURRENT_SOURCE_DIR}/${name}/*.cpp")
  set(target rookery_${name})
  if(NOT sources)
    add_library(${target} INTERFACE)
    set(scope INTERFACE)
  else()
    add_library(${target} STATIC ${sources})
    set(scope PUBLIC)
  endif()
  foreach(floor IN LISTS ARG_USES)
    target_link_libraries(${target} ${scope} rookery_${floor})
  endforeach()
  target_include_directories(${target} ${scope} "${CMAKE_SOURCE_DIR}/src")
  target_link_libraries(${target} ${scope} fmt::fmt spdlog::spdlog ${ARG_LINKS})
  if(sources)
    rookery_precompiled(${target} ${ARG_ASIO})
  endif()
endfunction()

# Puts a file's bytes into a floor, as rookery::<floor>::<variable>Bytes and …Size.
function(rookery_embed floor file variable)
  set(source "${CMAKE_CURRENT_SOURCE_DIR}/${file}")
  set_property(DIRECTORY APPEND PROPERTY CMAKE_CONFIGURE_DEPENDS "${source}")
  file(READ "${source}" hex HEX)
  string(REGEX REPLACE "(..)" "0x\\1," bytes "${hex}")
  file(CONFIGURE OUTPUT "${CMAKE_CURRENT_BINARY_DIR}/${file}.cpp" CONTENT
    "#include <cstddef>
namespace rookery::${floor} {
extern const unsigned char ${variable}Bytes[];
extern const std::size_t ${variable}Size;
const unsigned char ${variable}Bytes[] = {${bytes}};
const std::size_t ${variable}Size = sizeof(${variable}Bytes);
}  // namespace rookery::${floor}
")
  target_sources(rookery_${floor} PRIVATE "${CMAKE_CURRENT_BINARY_DIR}/${file}.cpp")
endfunction()

# Takes one of the two shared precompiled headers (cmake/pch/): standard library, or that and Boost.Asio.
function(rookery_precompiled target asio)
  if(asio)
    target_link_libraries(${target} PUBLIC rookery_pch_asio)
    target_precompile_headers(${target} REUSE_FROM rookery_pch_asio)
    # g++ 12 takes the operators new and delete of Asio's coroutine frames for no pair when it inlines one of them.
    target_compile_options(${target} PRIVATE $<$<CXX_COMPILER_ID:GNU>:-Wno-mismatched-new-delete>)
  else()
    target_precompile_headers(${target} REUSE_FROM rookery_pch_std)
  endif()
endfunction()

# Tests of one folder under tests/: *_test.cpp need neither socket nor sleep (label unit);
# *_loopback_test.cpp talk over loopback (label loopback). LABEL overrides both.
#
#   rookery_tests(jpeg USES rookery_jpeg [LINKS …] [ASIO] [LABEL outside])
function(rookery_tests folder)
  cmake_parse_arguments(ARG "ASIO" "LABEL" "USES;LINKS" ${ARGN})
  file(GLOB all CONFIGURE_DEPENDS "${CMAKE_CURRENT_SOURCE_DIR}/${folder}/*_test.cpp")
  set(loopback ${all})
  list(FILTER loopback INCLUDE REGEX "_loopback_test\\.cpp$")
  set(unit ${all})
  list(FILTER unit EXCLUDE REGEX "_loopback_test\\.cpp$")
  foreach(kind unit loopback)
    if(NOT ${kind})
      continue()
    endif()
    set(target ${kind}_${folder})
    set(label ${kind})
    if(ARG_LABEL)
      set(label ${ARG_LABEL})
    endif()
    add_executable(${target} ${${kind}})
    target_link_libraries(${target} PRIVATE ${ARG_USES} ${ARG_LINKS} rookery_test_support)
    rookery_precompiled(${target} ${ARG_ASIO})
    # What is tested is looked at for undefined behaviour, the tests themselves are not: it is a third of the time that
    # they take to compile.
    if(ROOKERY_SANITIZE MATCHES "undefined")
      target_compile_options(${target} PRIVATE -fno-sanitize=undefined)
    endif()
    if(NOT ARG_LABEL)
      # Not built by default: ./test runs these under the sanitizers only, and asks for them by name.
      set_property(GLOBAL APPEND PROPERTY ROOKERY_UNIT_AND_LOOPBACK ${target})
      set_target_properties(${target} PROPERTIES EXCLUDE_FROM_ALL ON)
    endif()
    # Listing tests loads all of a program's libraries, which on a busy machine takes longer than the usual 5 s.
    gtest_discover_tests(${target} DISCOVERY_MODE PRE_TEST DISCOVERY_TIMEOUT 60
      TEST_PREFIX "${folder}." PROPERTIES LABELS ${label} TIMEOUT 120)
  endforeach()
endfunction()
