declare module 'cobs' {
  export function encode(bytes: Uint8Array): Buffer;
  export function decode(bytes: Uint8Array): Buffer;
}
