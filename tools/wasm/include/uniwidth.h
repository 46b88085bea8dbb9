// Of libunistring the one function that is used; its own headers are made for the system that they were built on.
#ifndef PLATETALLY_WASM_UNIWIDTH_H
#define PLATETALLY_WASM_UNIWIDTH_H

#include <stdint.h>

#ifdef __cplusplus
extern "C"
#endif
    int
    uc_width(uint32_t character, const char* encoding);

#endif
