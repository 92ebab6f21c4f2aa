// Registers of the RP2040 that the box and its loader use. Numbers: RP2040 data sheet, the section named at each block.
#ifndef STANDOFF_REGISTERS_H
#define STANDOFF_REGISTERS_H
#include <stdint.h>

#define REGISTER(address) (*(volatile uint32_t *)(uintptr_t)(address))
// Aliases that change only the bits written as 1 (2.1.2, atomic register access).
#define SET_BITS(address) REGISTER((address) + 0x2000u)
#define CLEAR_BITS(address) REGISTER((address) + 0x3000u)
#define BIT(n) (1u << (n))

// 2.14 Subsystem resets
#define SYSINFO_CHIP_ID 0x40000000u // data sheet 2.20
#define RESETS_RESET 0x4000c000u
#define RESETS_DONE 0x4000c008u
#define RESET_ADC BIT(0)
#define RESET_IO_BANK0 BIT(5)
#define RESET_PADS_BANK0 BIT(8)
#define RESET_PLL_SYS BIT(12)
#define RESET_PLL_USB BIT(13)
#define RESET_PWM BIT(14)
#define RESET_SYSINFO BIT(19)
#define RESET_TIMER BIT(21)
#define RESET_UART0 BIT(22)
#define RESET_USB BIT(24)

// 2.13 Power-on state machine: what a watchdog reset takes along
#define PSM_WDSEL 0x40010008u
#define PSM_ALL 0x0001ffffu
#define PSM_OSCILLATORS (BIT(0) | BIT(1))

// 2.15 Clocks
#define CLK_REF_CTRL 0x40008030u
#define CLK_REF_DIV 0x40008034u
#define CLK_REF_SELECTED 0x40008038u
#define CLK_REF_XOSC 2u
#define CLK_SYS_CTRL 0x4000803cu
#define CLK_SYS_DIV 0x40008040u
#define CLK_SYS_SELECTED 0x40008044u
#define CLK_SYS_AUX 1u // auxiliary source 0: PLL_SYS
#define CLK_PERI_CTRL 0x40008048u
#define CLK_USB_CTRL 0x40008054u
#define CLK_USB_DIV 0x40008058u
#define CLK_ADC_CTRL 0x40008060u
#define CLK_ADC_DIV 0x40008064u
#define CLK_ENABLE BIT(11) // auxiliary source 0: clk_sys for the peripherals, PLL_USB for USB and converter
#define CLK_DIVIDE_BY_1 0x100u

// 2.16 Crystal oscillator
#define XOSC_CTRL 0x40024000u
#define XOSC_STATUS 0x40024004u
#define XOSC_STARTUP 0x4002400cu
#define XOSC_1_TO_15_MHZ 0xaa0u
#define XOSC_ENABLE (0xfabu << 12)
#define XOSC_DISABLE (0xd1eu << 12)
#define XOSC_STABLE BIT(31)

// 2.18 PLL
#define PLL_SYS 0x40028000u
#define PLL_USB 0x4002c000u
#define PLL_CS 0x0u
#define PLL_PWR 0x4u
#define PLL_FBDIV 0x8u
#define PLL_PRIM 0xcu
#define PLL_LOCKED BIT(31)
#define PLL_PD BIT(0)
#define PLL_POSTDIV_PD BIT(3)
#define PLL_VCO_PD BIT(5)

// 2.19 GPIO: function of a pin, its pad
#define PIN_CTRL(pin) (0x40014004u + 8u * (pin))
#define FUNCTION_UART 2u
#define FUNCTION_PWM 4u
#define FUNCTION_SIO 5u
#define FUNCTION_NONE 31u
#define PAD(pin) (0x4001c004u + 4u * (pin))
#define PAD_OUTPUT_OFF BIT(7)
#define PAD_INPUT BIT(6)
#define PAD_4_MA BIT(4)
#define PAD_PULL_UP BIT(3)
#define PAD_PULL_DOWN BIT(2)
#define PAD_SCHMITT BIT(1)

// 2.3.1 Single-cycle IO
#define SIO_IN 0xd0000004u
#define SIO_OUT 0xd0000010u
#define SIO_OUT_SET 0xd0000014u
#define SIO_OUT_CLEAR 0xd0000018u
#define SIO_OUT_TOGGLE 0xd000001cu
#define SIO_OE_SET 0xd0000024u

// 4.1 USB, as a device: registers, and the dual-port memory with a word of control for each endpoint and direction
#define USB_ADDRESS 0x50110000u
#define USB_MAIN_CTRL 0x50110040u
#define USB_SIE_CTRL 0x5011004cu
#define USB_SIE_STATUS 0x50110050u // what has happened is cleared by writing ones
#define USB_BUFF_STATUS 0x50110058u // two bits an endpoint, the even one to the host; cleared by writing ones
#define USB_STALL_ARM 0x50110068u
#define USB_MUXING 0x50110074u
#define USB_POWER 0x50110078u
#define USB_ON BIT(0)
#define SIE_PULL_UP BIT(16)
#define SIE_STATUS_OF_EP0 BIT(29) // buffers of endpoint 0 appear in BUFF_STATUS
#define SIE_BUS_RESET BIT(19)
#define SIE_SETUP BIT(17)
#define SIE_SUSPENDED BIT(4)
#define MUXING_TO_PHY (BIT(0) | BIT(3))
#define POWER_VBUS_PRESENT (BIT(2) | BIT(3)) // no pin senses it: overridden
#define USB_MEMORY 0x50100000u
#define USB_MEMORY_BYTES 0x1000u
// Endpoints from 1 on; buffers are 64 bytes, counted from the start of the memory.
#define USB_END_IN(n) (USB_MEMORY + 8u * (n))
#define USB_END_OUT(n) (USB_MEMORY + 4u + 8u * (n))
#define END_ON BIT(31)
#define END_STATUS BIT(29) // its buffers appear in BUFF_STATUS
#define END_BULK (2u << 26)
#define END_INTERRUPT (3u << 26)
#define USB_BUFFER_IN(n) (USB_MEMORY + 0x80u + 8u * (n))
#define USB_BUFFER_OUT(n) (USB_MEMORY + 0x84u + 8u * (n))
#define USB_EP0_BYTES 0x100u
#define BUFFER_FULL BIT(15)
#define BUFFER_DATA1 BIT(13)
#define BUFFER_STALL BIT(11)
#define BUFFER_AVAILABLE BIT(10)
#define BUFFER_LENGTH 0x3ffu

// 4.2 UART (PL011)
#define UART0_DR 0x40034000u
#define UART0_FR 0x40034018u
#define UART0_IBRD 0x40034024u
#define UART0_FBRD 0x40034028u
#define UART0_LCR_H 0x4003402cu
#define UART0_CR 0x40034030u
#define UART0_IFLS 0x40034034u
#define UART0_IMSC 0x40034038u
#define UART0_ICR 0x40034044u
#define FR_BUSY BIT(3)
#define FR_RX_EMPTY BIT(4)
#define FR_TX_FULL BIT(5)
#define LCR_8_BITS_FIFOS 0x70u
#define CR_ON (BIT(0) | BIT(8) | BIT(9))
#define UART_RX BIT(4)
#define UART_TX BIT(5)
#define UART_RX_TIMEOUT BIT(6)

// 4.5 PWM: one block of registers a slice
#define PWM_CSR(slice) (0x40050000u + 0x14u * (slice))
#define PWM_DIV(slice) (0x40050004u + 0x14u * (slice))
#define PWM_CTR(slice) (0x40050008u + 0x14u * (slice))
#define PWM_TOP(slice) (0x40050010u + 0x14u * (slice))
#define PWM_ENABLE BIT(0)
#define PWM_COUNT_RISING_B (2u << 4)

// 4.6 Timer
#define TIMER_ALARM(n) (0x40054010u + 4u * (n))
#define TIMER_ARMED 0x40054020u
#define TIMER_RAWL 0x40054028u
#define TIMER_INTR 0x40054034u
#define TIMER_INTE 0x40054038u

// 4.7 Watchdog
#define WATCHDOG_CTRL 0x40058000u
#define WATCHDOG_LOAD 0x40058004u
#define WATCHDOG_REASON 0x40058008u
#define WATCHDOG_SCRATCH(n) (0x4005800cu + 4u * (n))
#define WATCHDOG_TICK 0x4005802cu
#define WATCHDOG_TRIGGER BIT(31)
#define WATCHDOG_ENABLE BIT(30)
#define WATCHDOG_BY_TIMER BIT(0)
#define WATCHDOG_TICK_ENABLE BIT(9)
#define WATCHDOG_MOST 0xffffffu

// 4.9 Converter
#define ADC_CS 0x4004c000u
#define ADC_RESULT 0x4004c004u
#define ADC_ENABLE BIT(0)
#define ADC_START BIT(2)
#define ADC_READY BIT(8)
#define ADC_ERROR BIT(9)
#define ADC_CHANNEL(n) ((n) << 12)

// 4.10 SSI, the flash interface; and the pad of its chip select (2.19.6.2)
#define SSI_CTRLR0 0x18000000u
#define SSI_CTRLR1 0x18000004u
#define SSI_ENABLE 0x18000008u
#define SSI_SER 0x18000010u
#define SSI_BAUDR 0x18000014u
#define SSI_SR 0x18000028u
#define SSI_DR0 0x18000060u
#define SSI_RX_SAMPLE_DELAY 0x180000f0u
#define SSI_SPI_CTRLR0 0x180000f4u
#define SSI_TX_NOT_FULL BIT(1)
#define SSI_RX_NOT_EMPTY BIT(3)
#define QSPI_SS_CTRL 0x4001800cu
#define CHIP_SELECT_MASK (3u << 8)
#define CHIP_SELECT_LOW (2u << 8)
#define CHIP_SELECT_HIGH (3u << 8)

// 2.4 Cortex-M0+: interrupt controller, system control, SysTick, memory protection (ARMv6-M manual)
#define SYST_CSR 0xe000e010u
#define SYST_RVR 0xe000e014u
#define SYST_CVR 0xe000e018u
#define SYST_FROM_PROCESSOR_CLOCK 5u
#define SYST_MOST 0xffffffu
#define NVIC_ISER 0xe000e100u
#define NVIC_ICER 0xe000e180u
#define NVIC_ISPR 0xe000e200u
#define NVIC_ICPR 0xe000e280u
#define NVIC_IPR(irq) (0xe000e400u + ((irq) & ~3u))
#define IRQ_TIMER_0 0u
#define IRQ_TIMER_1 1u
#define IRQ_UART0 20u
#define SCB_ICSR 0xe000ed04u
#define ICSR_PEND_SV BIT(28)
#define SCB_VTOR 0xe000ed08u
#define SCB_SHPR3 0xe000ed20u
#define MPU_CTRL 0xe000ed94u
#define MPU_RNR 0xe000ed98u
#define MPU_RBAR 0xe000ed9cu
#define MPU_RASR 0xe000eda0u
#define MPU_ON_WITH_BACKGROUND 5u
#define MPU_READ_ONLY ((6u << 24) | BIT(18) | BIT(17)) // for memory in the chip: shareable, cacheable
#define MPU_REGION_ON 1u

static inline void resetBlocks(uint32_t blocks) {
  SET_BITS(RESETS_RESET) = blocks;
  CLEAR_BITS(RESETS_RESET) = blocks;
  while ((REGISTER(RESETS_DONE) & blocks) != blocks) {
  }
}

// Priority of an interrupt, 0 (first) to 3.
static inline void setPriority(uint32_t irq, uint32_t priority) {
  uint32_t shift = 8u * (irq & 3u) + 6u;
  REGISTER(NVIC_IPR(irq)) = (REGISTER(NVIC_IPR(irq)) & ~(3u << shift)) | (priority << shift);
}

#endif
