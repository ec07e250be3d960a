// A buyer's table brought into the size table: shown cell by cell before it is saved.

import { Brought, unitOf } from "./brought.js";

export class Bring extends Brought {
  constructor(room) {
    super(room, { place: ".bring", form: "form[data-table]", take: "[data-take]", leave: "[data-leave]", table: "a size table" });
    this.at("change", "select", (field) => this.given(field.form) && this.read(field.form));
  }

  doors(form) {
    const item = form.dataset.table;
    return { text: `${item}size-table`, file: `${item}size-file` };
  }

  said(form) {
    return unitOf(form);
  }

  html({ preview }) {
    return preview;
  }

  take() {
    this.room.grid.allFull();
    super.take();
  }
}
