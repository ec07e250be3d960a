// Garments that came back: a table of pieces read against the style, and kept with it.

import { Brought, unitOf } from "./brought.js";

export class Pieces extends Brought {
  constructor(room) {
    super(room, { place: ".pieces", form: "form", take: "[data-keep-pieces]", leave: "[data-leave-pieces]", table: "a table of pieces" });
  }

  doors(form) {
    const door = form.dataset.pieces;
    return { text: door, file: `${door}-file` };
  }

  said(form) {
    const { lot } = form.elements;
    const pieces = lot.value.trim();
    if (pieces && !/^[1-9]\d{0,6}$/.test(pieces)) {
      this.refuse(form, `“${pieces}” is no number of pieces. Try: 640.`);
      lot.focus();
      return null;
    }
    return { ...unitOf(form), ...(pieces ? { lot: Number(pieces) } : {}) };
  }

  html({ section }) {
    return section;
  }
}
