// CALCANT_CLONES before a function of plain loops makes it twice: once for any machine and once for those with wide
// vectors, chosen when the program is loaded. Both do the same operations in the same order, so the sound is the same.
#pragma once

#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) && \
    !defined(__SANITIZE_THREAD__)
#define CALCANT_CLONES __attribute__((target_clones("default", "arch=x86-64-v3")))
#else
#define CALCANT_CLONES
#endif
