// WASI tells of no terminal's width.
#pragma once

#define TIOCGWINSZ 0x5413

struct winsize {
  unsigned short ws_row;
  unsigned short ws_col;
};

inline int ioctl(int, int, struct winsize*) {
  return -1;
}
