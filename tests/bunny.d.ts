declare module 'bunny' {
  const bunny: { readonly positions: [number, number, number][]; readonly cells: [number, number, number][] };
  export default bunny;
}
