/** Places of the RP2040 (datasheet 2.2) and of the Cortex-M0+. */
export const FLASH_AT = 0x10000000;
export const RAM_AT = 0x20000000;
/** Four striped banks of 64 KiB and two of 4 KiB. */
export const RAM_BYTES = 0x42000;
/** The boot ROM copies the flash's first 256 bytes here: the last of the memory. */
export const BOOT_BLOCK_RAM_AT = 0x20041f00;
