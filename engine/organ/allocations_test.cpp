#include "engine/organ/allocations_test.hpp"

#include <atomic>
#include <cstdlib>
#include <new>

namespace {
std::atomic<long> counted{0};
}

long calcant::allocations() { return counted; }

void* operator new(std::size_t size) {
  ++counted;
  if (void* p = std::malloc(size == 0 ? 1 : size)) return p;
  throw std::bad_alloc{};
}
void operator delete(void* p) noexcept { std::free(p); }
void operator delete(void* p, std::size_t) noexcept { std::free(p); }
