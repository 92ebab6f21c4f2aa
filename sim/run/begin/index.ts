export { awaitFirmware, BOOT_MARK, isBootDrive, standForDrive, writeToDrive } from './boot-drive.js';
export { type FindOptions, type FoundBox, findBox } from './finding.js';
