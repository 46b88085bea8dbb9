# Clang for WebAssembly with the system interface WASI: libc from Debian, the C++ library from tools/wasm/libraries.
set(CMAKE_SYSTEM_NAME WASI)
set(CMAKE_SYSTEM_PROCESSOR wasm32)
set(CMAKE_C_COMPILER clang-19)
set(CMAKE_CXX_COMPILER clang++-19)
set(CMAKE_AR llvm-ar-19)
set(CMAKE_RANLIB llvm-ranlib-19)
set(CMAKE_C_COMPILER_TARGET wasm32-wasi)
set(CMAKE_CXX_COMPILER_TARGET wasm32-wasi)
set(CMAKE_TRY_COMPILE_TARGET_TYPE STATIC_LIBRARY)
# Signals and clocks are emulated where a program only names them; posix.h has what WASI's libc leaves out.
set(wasm_flags "-msimd128 -mbulk-memory -fwasm-exceptions -D_WASI_EMULATED_SIGNAL -D_WASI_EMULATED_PROCESS_CLOCKS -D_WASI_EMULATED_GETPID -isystem ${CMAKE_CURRENT_LIST_DIR}/include -include ${CMAKE_CURRENT_LIST_DIR}/include/posix.h")
set(CMAKE_C_FLAGS_INIT "${wasm_flags}")
set(CMAKE_CXX_FLAGS_INIT "${wasm_flags} -nostdinc++")
