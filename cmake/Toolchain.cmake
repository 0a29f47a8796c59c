# Warnings, sanitizers, ccache and the linker: what every target of the project is built with.

find_program(ROOKERY_CCACHE ccache)
if(ROOKERY_CCACHE)
  set(CMAKE_CXX_COMPILER_LAUNCHER "${CMAKE_COMMAND};-E;env;CCACHE_SLOPPINESS=pch_defines,time_macros;CCACHE_BASEDIR=${CMAKE_SOURCE_DIR};CCACHE_NOHASHDIR=1;${ROOKERY_CCACHE}")
endif()

add_compile_options(-Wall -Wextra -Wshadow -Wnon-virtual-dtor)
if(ROOKERY_WERROR)
  add_compile_options(-Werror)
endif()
if(CMAKE_CXX_COMPILER_ID MATCHES "Clang")
  # Without this a precompiled header's time stamp defeats ccache.
  add_compile_options("SHELL:-Xclang -fno-pch-timestamp")
  find_program(ROOKERY_LLD NAMES ld.lld-16 ld.lld-14 ld.lld)
  if(ROOKERY_LLD)
    add_link_options("--ld-path=${ROOKERY_LLD}")
  endif()
elseif(CMAKE_CXX_COMPILER_ID STREQUAL "GNU")
  # -fpch-preprocess: without it ccache cannot tell what a precompiled header holds, and caches nothing that uses one.
  add_compile_options(-fcoroutines -fpch-preprocess)
endif()

if(ROOKERY_SANITIZE)
  add_compile_options(-fsanitize=${ROOKERY_SANITIZE} -fno-omit-frame-pointer -fno-sanitize-recover=all)
  add_link_options(-fsanitize=${ROOKERY_SANITIZE})
endif()
if(ROOKERY_FUZZ)
  # Coverage feedback has to come from the code under test, so every floor is built with it.
  add_compile_options(-fsanitize=fuzzer-no-link)
endif()
