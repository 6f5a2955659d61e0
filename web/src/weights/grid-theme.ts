/** The grid in our own palette: every colour is one of the tokens, so that it follows light and dark by itself. */
import { createPart, createTheme, type Theme } from "ag-grid-community";

/** Plain boxes of the browser in our colour: no pictures in the style sheet, and large enough to hit. */
const ticks = createPart({
  feature: "checkboxStyle",
  css: `
    .ag-checkbox-input-wrapper { display: grid; place-items: center; width: 20px; height: 20px; opacity: 1; }
    .ag-checkbox-input { appearance: auto; width: 18px; height: 18px; margin: 0; opacity: 1; accent-color: var(--pond); cursor: pointer; }
    .ag-checkbox-input:focus-visible { outline: 3px solid var(--pond); outline-offset: 1px; }
  `,
});

const inputs = createPart({
  feature: "inputStyle",
  css: `
    .ag-input-field-input { background: var(--paper); color: var(--ink); border: 0; padding: 0 8px; height: 100%; }
    .ag-picker-field-wrapper { background: var(--paper); border: 0; padding: 0 8px; height: 100%; }
    .ag-picker-field-icon .ag-icon::before { content: "▾"; background: none; mask: none; font-size: 16px; }
    .ag-select-list { background: var(--paper); border: 1px solid var(--edge); border-radius: 2px; box-shadow: var(--lift); }
    .ag-list-item { padding: 0 12px; cursor: pointer; }
    .ag-list-item.ag-active-item { background: var(--shallows); }
  `,
});

export function gridTheme(thumb: boolean): Theme {
  return createTheme()
    .withPart(ticks)
    .withPart(inputs)
    .withParams({
      accentColor: "var(--pond)",
      backgroundColor: "var(--paper)",
      foregroundColor: "var(--ink)",
      textColor: "var(--ink)",
      subtleTextColor: "var(--slate)",
      borderColor: "var(--feather)",
      browserColorScheme: "inherit",
      chromeBackgroundColor: "var(--mist)",
      fontFamily: "var(--face-text)",
      fontSize: 15,
      headerBackgroundColor: "var(--mist)",
      headerTextColor: "var(--slate)",
      headerFontSize: 13,
      headerFontWeight: 600,
      headerHeight: 40,
      headerRowBorder: { color: "var(--edge)" },
      headerColumnBorder: false,
      headerColumnResizeHandleColor: "var(--feather)",
      rowHeight: thumb ? 44 : 36,
      rowBorder: { color: "var(--feather)" },
      rowHoverColor: "var(--mist)",
      selectedRowBackgroundColor: "var(--shallows)",
      columnBorder: false,
      pinnedColumnBorder: { color: "var(--edge)" },
      wrapperBorder: { color: "var(--feather)" },
      wrapperBorderRadius: 2,
      borderRadius: 2,
      cellHorizontalPadding: 12,
      cellEditingBorder: { color: "var(--pond)", width: 2 },
      cellEditingShadow: "none",
      focusShadow: "0 0 0 3px var(--pond)",
      rangeSelectionBorderColor: "var(--pond)",
      rangeSelectionBackgroundColor: "transparent",
      invalidColor: "var(--chestnut)",
      listItemHeight: thumb ? 44 : 34,
      menuBackgroundColor: "var(--paper)",
      menuTextColor: "var(--ink)",
      menuShadow: "var(--lift)",
      menuBorder: { color: "var(--edge)" },
      popupShadow: "var(--lift)",
      dropdownShadow: "var(--lift)",
      tooltipBackgroundColor: "var(--paper)",
      tooltipTextColor: "var(--ink)",
      tooltipBorder: { color: "var(--edge)" },
      spacing: 8,
      iconSize: 14,
      iconColor: "var(--pond)",
    });
}
