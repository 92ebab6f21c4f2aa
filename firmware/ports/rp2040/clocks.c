// Clocks from the crystal. Order as in the RP2040 data sheet, 2.15.6 and 2.18.3: switch away from the PLLs, restart them,
// switch back.
#include "clocks.h"

#include <stdbool.h>

// The crystal's start, counted in 256 periods: 64 ms, for slow boards too (the vendor's library waits 6 ms, on some boards 64;
// from memory).
#define XOSC_START_PERIODS 3000u
// The loop below on the ring oscillator, which runs at 12 MHz at most (2.17): longer than the start takes.
#define XOSC_LOOPS 300000u

// 12 MHz × feedback / (first × second); the oscillator between 750 and 1600 MHz.
static void startPll(uint32_t pll, uint32_t feedback, uint32_t first, uint32_t second) {
  REGISTER(pll + PLL_CS) = 1;
  REGISTER(pll + PLL_FBDIV) = feedback;
  CLEAR_BITS(pll + PLL_PWR) = PLL_PD | PLL_VCO_PD;
  while ((REGISTER(pll + PLL_CS) & PLL_LOCKED) == 0) {
  }
  REGISTER(pll + PLL_PRIM) = (first << 16) | (second << 12);
  CLEAR_BITS(pll + PLL_PWR) = PLL_POSTDIV_PD;
}

static bool crystalRuns(void) { return (REGISTER(XOSC_STATUS) & XOSC_STABLE) != 0; }

// Through a watchdog reset the crystal goes on. One that does not come is switched off and on again, for as long as it takes:
// on the ring oscillator alone neither a speed of the line nor a tick would be right, so nothing else is begun, and the
// outputs stay at rest by their resistors.
static void startCrystal(void) {
  while (!crystalRuns()) {
    REGISTER(XOSC_CTRL) = XOSC_DISABLE | XOSC_1_TO_15_MHZ;
    REGISTER(XOSC_STARTUP) = XOSC_START_PERIODS;
    REGISTER(XOSC_CTRL) = XOSC_ENABLE | XOSC_1_TO_15_MHZ;
    for (uint32_t n = 0; n < XOSC_LOOPS && !crystalRuns(); n++) {
    }
  }
}

void clocks_start(void) {
  startCrystal();
  CLEAR_BITS(CLK_SYS_CTRL) = CLK_SYS_AUX;
  while (REGISTER(CLK_SYS_SELECTED) != 1) {
  }
  REGISTER(CLK_REF_CTRL) = CLK_REF_XOSC;
  while (REGISTER(CLK_REF_SELECTED) != BIT(CLK_REF_XOSC)) {
  }
  REGISTER(CLK_REF_DIV) = CLK_DIVIDE_BY_1;

  resetBlocks(RESET_PLL_SYS | RESET_PLL_USB);
  startPll(PLL_SYS, 125, 6, 2);
  startPll(PLL_USB, 100, 5, 5);

  REGISTER(CLK_SYS_DIV) = CLK_DIVIDE_BY_1;
  REGISTER(CLK_SYS_CTRL) = 0;
  REGISTER(CLK_SYS_CTRL) = CLK_SYS_AUX;
  while (REGISTER(CLK_SYS_SELECTED) != BIT(CLK_SYS_AUX)) {
  }
  REGISTER(CLK_PERI_CTRL) = CLK_ENABLE;
  REGISTER(CLK_USB_CTRL) = 0;
  REGISTER(CLK_USB_DIV) = CLK_DIVIDE_BY_1;
  REGISTER(CLK_USB_CTRL) = CLK_ENABLE;
  REGISTER(CLK_ADC_CTRL) = 0;
  REGISTER(CLK_ADC_DIV) = CLK_DIVIDE_BY_1;
  REGISTER(CLK_ADC_CTRL) = CLK_ENABLE;

  REGISTER(WATCHDOG_TICK) = WATCHDOG_TICK_ENABLE | 12u;
  resetBlocks(RESET_TIMER);
}
